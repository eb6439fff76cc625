#include "picture.h"
int draw_pictures(Sure* sure, const char* folder) {
  (void)sure;
  (void)folder;
  return 1;
}
