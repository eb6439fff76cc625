// A month of lots decided together, for C++17: a thin wrapper over buttonworth_schedule.h, in this header
// alone.
//
//     bw::Context context;
//     const bw::Answer schedule = bw::allocate(context, request);
//     const double leaves = schedule.number("/present_value");
//
// What stands in buttonworth.hpp holds here too. Link with buttonworth::buttonworth_schedule in CMake,
// `pkg-config --libs buttonworth_schedule` elsewhere.
#ifndef BUTTONWORTH_SCHEDULE_HPP
#define BUTTONWORTH_SCHEDULE_HPP

#include "buttonworth.hpp"
#include "buttonworth_schedule.h"

namespace bw {

/// Which lots are joined into which shipments, the way each goes, and when: the schedule of a request of
/// format buttonworth-allocation/1. It may take as long as the request allows; context.cancel() stops it.
inline Answer allocate(Context& context, std::string_view request) {
  bw_answer* made = nullptr;
  const bw_status status = bw_allocate(context.get(), detail::start(request), request.size(), &made);
  if (status == BW_USAGE_TYPE)  // the context was left alone, so what it keeps is another call's error
    throw Error(status,
                "libbuttonworth_schedule and libbuttonworth are not of one version: install both of one",
                "[]");
  detail::check(status, context.get());
  return Answer(made);
}

}  // namespace bw

#endif
