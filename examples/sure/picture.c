/* C99 does not know folders; POSIX does. */
#define _POSIX_C_SOURCE 200809L /* NOLINT(bugprone-reserved-identifier): the name is POSIX's */

#include "picture.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <sys/stat.h>

static int make_folder(const char* folder) {
  if (mkdir(folder, 0777) == 0 || errno == EEXIST) return 1;
  fprintf(stderr, "sure: the folder %s cannot be made\n", folder);
  return 0;
}

static const char* file_in(Sure* sure, const char* folder, const char* name, size_t number) {
  if (number == 0) return pool_text(&sure->pool, "%s/%s.svg", folder, name);
  return pool_text(&sure->pool, "%s/%s-%zu.svg", folder, name, number);
}

int draw_pictures(Sure* sure, const char* folder) {
  if (!make_folder(folder)) return 0;
  int good = draw_ranges(sure, file_in(sure, folder, "ranges", 0));
  if (!isnan(ask_number(&sure->simulation, "/lead/mean")))
    good = draw_lead(sure, file_in(sure, folder, "lead", 0)) && good;
  for (size_t i = 0; i < ask_count(&sure->cut, "/cuts"); ++i)
    good = draw_cut(sure, i, file_in(sure, folder, "cut", i + 1)) && good;
  for (size_t i = 0; i < sure->map_count; ++i)
    good = draw_map(sure, i, file_in(sure, folder, "map", i + 1)) && good;
  return good;
}
