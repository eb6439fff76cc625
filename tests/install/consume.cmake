# Installs the build tree into an empty prefix, then builds and runs somebody else's programs on it:
# by the CMake package, by pkg-config, and by both once more after the prefix was moved.
# cmake -DBUILD=… -DSOURCES=… -DFOLDER=… -DVERSION=… -DCONFIG=… -DC=… -DCXX=…
#   -DGENERATOR=… -DFLAGS=… -DWITH_SCHEDULE=… -P consume.cmake

set(expected "sold leaves 4500.00, by version ${VERSION}\n")  # 1 t x 50 g/t x 90 % x 100 USD/g
set(expected_schedule "2 lots joined leave 2790.00\n")  # (300 kg x 50 g/t + 200 kg x 80 g/t) x 90 % x 100 USD/g

function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    string(JOIN " " command ${ARGN})
    message(FATAL_ERROR "${command}\nended with ${result}:\n${output}")
  endif()
endfunction()

function(expect_answer program expected)
  execute_process(COMMAND ${program} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE errors)
  if(NOT result EQUAL 0 OR NOT output STREQUAL expected)
    message(FATAL_ERROR "${program} ended with ${result} and said\n${output}${errors}instead of\n${expected}")
  endif()
endfunction()

function(expect_answers folder)
  foreach(language c cpp)
    expect_answer(${folder}/consumer_${language} "${expected}")
    if(WITH_SCHEDULE)
      expect_answer(${folder}/schedule_${language} "${expected_schedule}")
    endif()
  endforeach()
endfunction()

function(expect_by_package prefix build)
  file(MAKE_DIRECTORY ${build}/sources)
  file(COPY ${SOURCES}/consumer.c ${SOURCES}/consumer.cpp ${SOURCES}/schedule.c ${SOURCES}/schedule.cpp DESTINATION ${build}/sources)
  file(COPY_FILE ${SOURCES}/CMakeLists.consumer.txt ${build}/sources/CMakeLists.txt)
  run(${CMAKE_COMMAND} -S ${build}/sources -B ${build} -G ${GENERATOR} -DCMAKE_PREFIX_PATH=${prefix}
      -DCMAKE_C_COMPILER=${C} -DCMAKE_CXX_COMPILER=${CXX} -DCMAKE_C_FLAGS=${FLAGS} -DCMAKE_CXX_FLAGS=${FLAGS}
      -DWANTED_VERSION=${VERSION} -DWITH_SCHEDULE=${WITH_SCHEDULE} -DCMAKE_FIND_USE_CMAKE_SYSTEM_PATH=OFF)
  run(${CMAKE_COMMAND} --build ${build})
  expect_answers(${build})
endfunction()

function(pkg_config result package)
  execute_process(COMMAND ${PKG_CONFIG} ${ARGN} ${package} OUTPUT_VARIABLE said COMMAND_ERROR_IS_FATAL ANY)
  string(STRIP "${said}" said)
  set(${result} "${said}" PARENT_SCOPE)
endfunction()

# PROGRAM.c and PROGRAM.cpp with what pkg-config says of a package.
function(build_by_pkg_config build package program)
  pkg_config(version ${package} --modversion)
  if(NOT version STREQUAL VERSION)
    message(FATAL_ERROR "pkg-config knows version ${version} of ${package}, not ${VERSION}")
  endif()
  pkg_config(flags ${package} --cflags)
  pkg_config(libraries ${package} --libs)
  separate_arguments(arguments UNIX_COMMAND "${flags} ${FLAGS}")
  separate_arguments(libraries UNIX_COMMAND "${libraries}")
  run(${C} ${SOURCES}/${program}.c ${arguments} -o ${build}/${program}_c ${libraries})
  run(${CXX} -std=c++17 ${SOURCES}/${program}.cpp ${arguments} -o ${build}/${program}_cpp ${libraries})
endfunction()

function(expect_by_pkg_config prefix build)
  file(MAKE_DIRECTORY ${build})
  file(GLOB_RECURSE found ${prefix}/*/buttonworth.pc)
  cmake_path(GET found PARENT_PATH folder)
  set(ENV{PKG_CONFIG_LIBDIR} ${folder})  # and nowhere else
  build_by_pkg_config(${build} buttonworth consumer)
  if(WITH_SCHEDULE)
    build_by_pkg_config(${build} buttonworth_schedule schedule)
  endif()
  pkg_config(place buttonworth --variable=libdir)
  set(ENV{LD_LIBRARY_PATH} ${place})
  expect_answers(${build})
  unset(ENV{LD_LIBRARY_PATH})
endfunction()

file(REMOVE_RECURSE ${FOLDER})
run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${FOLDER}/prefix --config "${CONFIG}")
expect_by_package(${FOLDER}/prefix ${FOLDER}/by-package)
find_program(PKG_CONFIG NAMES pkg-config pkgconf)
if(NOT PKG_CONFIG)
  message(FATAL_ERROR "pkg-config is missing: install pkg-config")
endif()
expect_by_pkg_config(${FOLDER}/prefix ${FOLDER}/by-pkg-config)

# A package is packed up in one place and unpacked in another.
file(RENAME ${FOLDER}/prefix "${FOLDER}/another place")
expect_by_package("${FOLDER}/another place" ${FOLDER}/moved-by-package)
file(RENAME "${FOLDER}/another place" ${FOLDER}/elsewhere)
expect_by_pkg_config(${FOLDER}/elsewhere ${FOLDER}/moved-by-pkg-config)
