# Builds program.c with the stored headers and with libraries that have the stored names and no bodies, and
# runs it on today's: cmake -DBASELINE=… -DPROGRAM=… -DFOLDER=… -DCC=… -DLIBRARIES=… (a folder) -P program.cmake
file(STRINGS ${BASELINE}/sonames sonames)
file(REMOVE_RECURSE ${FOLDER})
file(MAKE_DIRECTORY ${FOLDER})

function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    message(FATAL_ERROR "${ARGN}\nended with ${result}:\n${output}")
  endif()
endfunction()

# ---- The libraries of that day, as a linker sees them ----------------------------------------------
set(links "")
foreach(soname ${sonames})
  string(REGEX REPLACE "^lib(.*)\\.so\\.[0-9]+$" "\\1" name ${soname})
  file(READ ${BASELINE}/${name}.symbols symbols)
  string(REGEX REPLACE "([^\n]+)\n" "void \\1(void) {}\n" bodies "${symbols}")
  file(WRITE ${FOLDER}/${name}.c "${bodies}")
  run(${CC} -shared -fPIC -Wl,-soname,${soname} -o ${FOLDER}/lib${name}.so ${FOLDER}/${name}.c)
  list(APPEND links -l${name})
endforeach()
string(REGEX MATCH "[0-9]+$" abi_version "${sonames}")

# ---- The program -----------------------------------------------------------------------------------
run(${CC} -std=c99 -pedantic -Wall -Wextra -Werror -DBASELINE_ABI_VERSION=${abi_version} -I${BASELINE}
    -o ${FOLDER}/program ${PROGRAM} -L${FOLDER} ${links} -lm)
run(${CMAKE_COMMAND} -E env LD_LIBRARY_PATH=${LIBRARIES} LD_BIND_NOW=1 ${FOLDER}/program)
