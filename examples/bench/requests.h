/* Requests to the bench: one from a file or from standard input, or all of a folder, and their answers. */
#ifndef BENCH_REQUESTS_H
#define BENCH_REQUESTS_H

#include <buttonworth.h>

#include "../page/text.h"

typedef struct Request {
  const char* path; /* NULL or "-": standard input */
  const char* name; /* the file's, without its folder */
  Text text;
  bw_answer* answer;
} Request;

typedef struct Requests {
  Pool pool;
  Request* list;
  size_t count, room;
  int in_folder;
} Requests;

/* Finds the requests that a path names: itself, or what ends in .json in the folder, in the order of the
 * numbers that the names begin with; 0 where there are none, which was told. requests_close frees them. */
int requests_open(Requests* requests, const char* path);
void requests_close(Requests* requests);

/* Reads and asks one, once only: the exit code. What was wrong was told. */
int request_ask(bw_context* context, Request* request);
/* Reads and asks all of them: the first exit code that is not good. */
int requests_ask(Requests* requests, bw_context* context);

/* A request by its file's name; NULL where there is none. */
Request* request_named(const Requests* requests, const char* name);

/* A folder's file. */
const char* path_in(Pool* pool, const char* folder, const char* name);

#endif
