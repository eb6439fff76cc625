# A library that has every name of ours and of what we are made of, each of which stops the program: loaded before
# LIBRARY, it is met wherever LIBRARY would take such a name from elsewhere.
# cmake -DLIBRARY=… -DNM=… -DOUT=… (a file in C) -P traps.cmake
execute_process(COMMAND ${NM} --format=posix ${LIBRARY} OUTPUT_VARIABLE table COMMAND_ERROR_IS_FATAL ANY)
string(REGEX MATCHALL "(^|\n)_Z[A-Za-z0-9_]*(8nlohmann|5boost|6spdlog|3fmt|5Eigen|11buttonworth)[A-Za-z0-9_]* [a-zA-Z]"
       names "${table}")
list(TRANSFORM names REPLACE "^\n?([^ ]+) .*" "\\1")
list(REMOVE_DUPLICATES names)
list(LENGTH names count)
if(count LESS 1000)
  message(FATAL_ERROR "${LIBRARY} has ${count} such names: are its symbols stripped?")
endif()
list(JOIN names "\n" names)
string(REGEX REPLACE "([^\n]+)" "void \\1(void) __attribute__((alias(\"trap\")));" declarations "${names}")
file(WRITE ${OUT} "#include <stdlib.h>\nvoid trap(void);\nvoid trap(void) { abort(); }\n${declarations}\n")
