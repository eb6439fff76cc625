include(${CMAKE_CURRENT_LIST_DIR}/buttonworth-targets.cmake)
# The library of schedules, where it is installed.
include(${CMAKE_CURRENT_LIST_DIR}/buttonworth-schedule-targets.cmake OPTIONAL)
