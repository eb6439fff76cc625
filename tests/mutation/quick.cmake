# Put into the copy's build right after project(): only what makes it quick.
# One set of lanes is enough, as both are the same templates.
set(CMAKE_SYSTEM_PROCESSOR generic)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
# Most of the time goes into the same headers of Boost.
cmake_language(DEFER DIRECTORY ${CMAKE_SOURCE_DIR} CALL target_precompile_headers bw_route PRIVATE
  <boost/multiprecision/cpp_dec_float.hpp> <boost/container/small_vector.hpp> <boost/math/tools/roots.hpp>
  <algorithm> <array> <charconv> <functional> <map> <memory> <optional> <span> <string> <variant> <vector>)
