/* A program of somebody else's, in C: one small plan, compared. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

static const char plan_text[] =
    "{\"format\": \"buttonworth-plan/1\", \"currency\": \"USD\", \"prices\": {\"Au\": \"100 USD/g\"}, "
    "\"discount\": \"0 %/a\","
    " \"lot\": {\"wet_mass\": \"1 t\", \"assays\": {\"Au\": \"50 g/t\"}},"
    " \"terms\": {\"smelter\": {\"buys\": \"concentrate\", \"pay\": {\"Au\": {\"share\": \"90 %\"}}}},"
    " \"routes\": {\"kept\": {\"keep\": true}, \"sold\": {\"sell\": \"smelter\"}}}";

int main(void) {
  bw_context* context = NULL;
  bw_plan* plan = NULL;
  bw_answer* answer = NULL;
  char best[64];
  double net = 0;
  int failed = 1;
  if (bw_context_create(&context) == BW_OK &&
      bw_plan_read(context, plan_text, strlen(plan_text), &plan) == BW_OK &&
      bw_compare(context, plan, NULL, 0, &answer) == BW_OK &&
      bw_answer_string(context, answer, "/best", best, sizeof best, NULL) == BW_OK &&
      bw_answer_number(context, answer, "/routes/sold/net", &net) == BW_OK) {
    printf("%s leaves %.2f, by version %s\n", best, net, bw_version());
    failed = 0;
  } else {
    fprintf(stderr, "%s\n", bw_error_text(context));
  }
  bw_answer_destroy(&answer);
  bw_plan_destroy(&plan);
  bw_context_destroy(&context);
  return failed;
}
