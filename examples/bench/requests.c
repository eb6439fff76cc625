/* C99 does not know folders; POSIX does. */
#define _POSIX_C_SOURCE 200809L /* NOLINT(bugprone-reserved-identifier): the name is POSIX's */

#include "requests.h"

#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "../page/program.h"
#include "../page/progress.h"

/* ---- Which there are ------------------------------------------------------------------------- */

static Request* add(Requests* requests, const char* path, const char* name) {
  if (requests->count == requests->room) {
    requests->room = requests->room != 0 ? 2 * requests->room : 16;
    Request* more = pool_block(&requests->pool, requests->room * sizeof *more);
    if (requests->count > 0) memcpy(more, requests->list, requests->count * sizeof *more);
    requests->list = more;
  }
  Request* request = &requests->list[requests->count++];
  request->path = path;
  request->name = name;
  return request;
}

/* "2-screen.json" before "10-bar.json". */
static int in_order(const void* left, const void* right) {
  const char *a = ((const Request*)left)->name, *b = ((const Request*)right)->name;
  const int numbered = isdigit((unsigned char)*a) && isdigit((unsigned char)*b);
  const long first = numbered ? strtol(a, NULL, 10) : 0, second = numbered ? strtol(b, NULL, 10) : 0;
  if (first != second) return first < second ? -1 : 1;
  return strcmp(a, b);
}

static int is_json(const char* name) {
  const char* end = strrchr(name, '.');
  return name[0] != '.' && end != NULL && strcmp(end, ".json") == 0;
}

const char* path_in(Pool* pool, const char* folder, const char* name) {
  const size_t size = strlen(folder);
  return pool_text(pool, "%s%s%s", folder, size > 0 && folder[size - 1] == '/' ? "" : "/", name);
}

static int open_folder(Requests* requests, const char* path) {
  DIR* folder = opendir(path);
  if (folder == NULL) {
    fprintf(stderr, "bench: %s cannot be read\n", path);
    return 0;
  }
  for (const struct dirent* entry; (entry = readdir(folder)) != NULL;) {
    if (!is_json(entry->d_name)) continue;
    const char* name = pool_text(&requests->pool, "%s", entry->d_name);
    add(requests, path_in(&requests->pool, path, name), name);
  }
  closedir(folder);
  if (requests->count == 0)
    fprintf(stderr, "bench: %s holds no request: no name there ends in .json\n", path);
  else qsort(requests->list, requests->count, sizeof *requests->list, in_order);
  return requests->count > 0;
}

static int is_folder(const char* path) {
  struct stat found;
  return path != NULL && stat(path, &found) == 0 && S_ISDIR(found.st_mode);
}

int requests_open(Requests* requests, const char* path) {
  memset(requests, 0, sizeof *requests);
  requests->in_folder = is_folder(path);
  if (requests->in_folder) return open_folder(requests, path);
  const char* slash = path != NULL ? strrchr(path, '/') : NULL;
  add(requests, path, slash != NULL ? slash + 1 : source_name(path));
  return 1;
}

void requests_close(Requests* requests) {
  for (size_t i = 0; i < requests->count; ++i) {
    text_free(&requests->list[i].text);
    bw_answer_destroy(&requests->list[i].answer);
  }
  pool_free(&requests->pool);
}

Request* request_named(const Requests* requests, const char* name) {
  for (size_t i = 0; i < requests->count; ++i)
    if (strcmp(requests->list[i].name, name) == 0) return &requests->list[i];
  return NULL;
}

/* ---- Asking ---------------------------------------------------------------------------------- */

static void report(void* user, int64_t done, int64_t total) {
  char line[60];
  snprintf(line, sizeof line, "%.40s, %d %%", ((const Request*)user)->name, (int)(100 * done / total));
  show_progress(line);
}

int request_ask(bw_context* context, Request* request) {
  if (request->answer != NULL) return exit_good;
  if (!read_source("bench", request->path, &request->text)) return exit_usage;
  bw_set_progress(context, report, request);
  const bw_status status = bw_bench(context, text_of(&request->text), request->text.size, &request->answer);
  end_progress();
  if (status != BW_OK) tell_errors(context, source_name(request->path), 1);
  bw_set_progress(context, NULL, NULL); /* and forgets what was wrong */
  return status == BW_OK ? exit_good : exit_of(status);
}

int requests_ask(Requests* requests, bw_context* context) {
  int worst = exit_good;
  for (size_t i = 0; i < requests->count; ++i) {
    const int code = request_ask(context, &requests->list[i]);
    if (worst == exit_good) worst = code;
  }
  return worst;
}
