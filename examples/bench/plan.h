/* A plan with answers of the bench put in: the rest of its text stays as it is, to the last space. */
#ifndef BENCH_PLAN_H
#define BENCH_PLAN_H

#include <buttonworth.h>

#include "requests.h"

/* Puts answers into the plan of that file, as the folder's into-plan.csv says, and prints it: the exit code.
 * What was wrong was told. Only the requests that its rows name are asked. */
int print_plan_with(bw_context* context, const char* plan_file, const char* folder, const Requests* requests);

#endif
