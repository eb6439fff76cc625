/* What a C program does with the headers: it must compile in every standard without a word. */
#include "buttonworth.h"
#include "buttonworth_schedule.h"

static void record(void* user, int32_t level, const char* text, size_t size) {
  (void)user, (void)level, (void)text, (void)size;
}

int main(void) {
  bw_context* context = NULL;
  bw_plan* plan = NULL;
  bw_answer* answer = NULL;
  bw_status status = bw_context_create(&context);
  if (status == BW_OK) status = bw_set_log(context, record, NULL, 3);
  if (status == BW_OK) status = bw_plan_read(context, "{}", 2, &plan);
  if (status == BW_OK) status = bw_compare(context, plan, NULL, 0, &answer);
  if (status == BW_OK) status = bw_allocate(context, "{}", 2, &answer);
  bw_answer_destroy(&answer);
  bw_plan_destroy(&plan);
  bw_context_destroy(&context);
  return status == BW_OK ? 0 : 1;
}
