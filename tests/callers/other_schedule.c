/* A library of schedules as one of another version is: it knows no context but its own (BW_USAGE_TYPE). */
int bw_allocate(void* context, const char* json, unsigned long size, void** out);

int bw_allocate(void* context, const char* json, unsigned long size, void** out) {
  (void)context, (void)json, (void)size;
  *out = 0;
  return 105;
}
