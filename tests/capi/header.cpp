// The same headers twice and in C++, where no function may throw.
// clang-format off
#include "buttonworth.h"
#include "buttonworth.h"
#include "buttonworth_schedule.h"
#include "buttonworth_schedule.h"
// clang-format on

static_assert(noexcept(bw_compare(nullptr, nullptr, nullptr, 0, nullptr)), "the C functions do not throw");
static_assert(noexcept(bw_context_destroy(nullptr)), "the C functions do not throw");
static_assert(noexcept(bw_allocate(nullptr, nullptr, 0, nullptr)), "the C functions do not throw");
static_assert(BW_OK == 0, "success is 0");

int main() { return bw_abi_version() >= 0 ? 0 : 1; }
