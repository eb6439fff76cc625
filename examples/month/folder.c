#include "folder.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

void folder_open(Folder* folder, const char* path) {
  memset(folder, 0, sizeof *folder);
  const char* end = path[strlen(path) - 1] == '/' ? "" : "/";
  folder->heading = pool_text(&folder->pool, "%s%smonth.json", path, end);
  folder->deliveries = pool_text(&folder->pool, "%s%sdeliveries.csv", path, end);
  folder->received = pool_text(&folder->pool, "%s%sreceived.csv", path, end);
  folder->returns = pool_text(&folder->pool, "%s%sreturns.csv", path, end);
}

void folder_close(Folder* folder) {
  text_free(&folder->heading_text);
  pool_free(&folder->pool);
}

/* A file that is there and cannot be opened is not passed over in silence: reading it will tell. */
int has_returns(const Folder* folder) {
  errno = 0;
  FILE* file = fopen(folder->returns, "rb");
  if (file == NULL) return errno != ENOENT;
  fclose(file);
  return 1;
}
