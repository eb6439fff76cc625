/* A program of somebody else's, in C: two lots that are too small for a buyer each, decided together. */
#include <buttonworth_schedule.h>
#include <stdio.h>
#include <string.h>

static const char request[] =
    "{\"format\": \"buttonworth-allocation/1\", \"currency\": \"USD\", \"prices\": {\"Au\": \"100 USD/g\"}, "
    "\"discount\": \"0 %/a\","
    " \"lots\": {\"K-1\": {\"wet_mass\": \"300 kg\", \"assays\": {\"Au\": \"50 g/t\"}},"
    " \"K-2\": {\"wet_mass\": \"200 kg\", \"assays\": {\"Au\": \"80 g/t\"}}},"
    " \"terms\": {\"smelter\": {\"buys\": \"concentrate\", \"accepts\": {\"mass\": {\"min\": \"400 kg\"}},"
    " \"pay\": {\"Au\": {\"share\": \"90 %\"}}}},"
    " \"routes\": {\"sold\": {\"sell\": \"smelter\"}}}";

int main(void) {
  bw_context* context = NULL;
  bw_answer* schedule = NULL;
  size_t joined = 0;
  double leaves = 0;
  int failed = 1;
  if (bw_context_create(&context) == BW_OK &&
      bw_allocate(context, request, strlen(request), &schedule) == BW_OK &&
      bw_answer_count(context, schedule, "/shipments/0/lots", &joined) == BW_OK &&
      bw_answer_number(context, schedule, "/present_value", &leaves) == BW_OK) {
    printf("%d lots joined leave %.2f\n", (int)joined, leaves);
    failed = 0;
  } else {
    fprintf(stderr, "%s\n", bw_error_text(context));
  }
  bw_answer_destroy(&schedule);
  bw_context_destroy(&context);
  return failed;
}
