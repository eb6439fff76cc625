// Every allocation of the process, counted, and those refused that a test wants refused: operator new, malloc and
// its kin, of the library and of the C++ runtime alike. Threads too. The solver of mixed-integer programmes does not
// live through a refusal: what is asked for inside it is refused only where a limit in bytes is reached.
#pragma once

#include <cstddef>

namespace allocations {

/// What is refused of the allocations that come: the `first` from now on (1 is the next), and all after it if
/// `lasting`.
struct Refusal {
  long first;
  bool lasting;
};

/// From now on allocations are numbered, and refused as told. The test itself must not allocate meanwhile.
void refuse(Refusal refusal);
/// From now on the process can have so many bytes more than it has, as where a system's limit is reached.
void refuse_beyond(std::size_t bytes);
/// From now on the process can have no thread beyond the `count` next ones, as where a system's limit is reached.
void refuse_threads_after(long count);
/// Ends all of these; gives how many allocations were asked for.
long allow();

/// Whether anything has been refused since the last refuse… call.
bool was_refused();
/// How many blocks are out.
long live();
/// All bytes ever asked for.
std::size_t bytes();
/// The most bytes that were out at once since the last refuse… call, beyond those that were out then.
std::size_t peak();

}  // namespace allocations
