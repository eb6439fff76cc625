/* A month of lots decided together. In a shared library of its own, libbuttonworth_schedule, as it alone needs a
 * solver of mixed-integer programmes; link it beside libbuttonworth, of the same version. What is said at the
 * head of buttonworth.h holds here. */
#ifndef BUTTONWORTH_SCHEDULE_H
#define BUTTONWORTH_SCHEDULE_H

#include "buttonworth.h"

#ifdef __cplusplus
extern "C" {
#define BW_SCHEDULE_NOEXCEPT noexcept
#else
#define BW_SCHEDULE_NOEXCEPT
#endif

/* Which lots are joined into which shipments, the way each goes, to which buyer and when, so that all together
 * leave the most: within hours and melts of the period, what buyers take, cash that is needed by a day and metal
 * that may be on hand. json: a request of format buttonworth-allocation/1 (the format's section 31); the answer is
 * a buttonworth-schedule/1: the shipments, each worked out in exact decimals as bw_compare does for its lots, how
 * far that is from the best possible among the blends looked at (gap), what every limit costs, a timetable, the
 * lots that are left and why, and what simpler ways of choosing would leave. Limits that cannot all be kept are an
 * answer (limits_kept false), not an error. The request says how long it may take ("time", a minute if left
 * out); progress is reported, and bw_cancel stops it.
 * Errors: usage, document, domain, cancelled; BW_USAGE_TYPE, without a text, where the context is of a
 * libbuttonworth of another version. Since 0.1.
 *     bw_answer* schedule = NULL;
 *     bw_allocate(context, text, strlen(text), &schedule); */
BW_API bw_status bw_allocate(bw_context* context, const char* json, size_t size, bw_answer** out) BW_SCHEDULE_NOEXCEPT;

#undef BW_SCHEDULE_NOEXCEPT
#ifdef __cplusplus
}
#endif

#endif /* BUTTONWORTH_SCHEDULE_H */
