# Installs the build tree into an empty prefix, then builds and runs somebody else's programs on it:
# by the CMake package, by pkg-config, and by both once more after the prefix was moved.
# cmake -DBUILD=… -DSOURCES=… -DFOLDER=… -DVERSION=… -DCONFIG=… -DC=… -DCXX=…
#   -DGENERATOR=… -DFLAGS=… -P consume.cmake

set(expected "sold leaves 4500.00, by version ${VERSION}\n")  # 1 t x 50 g/t x 90 % x 100 USD/g

function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    string(JOIN " " command ${ARGN})
    message(FATAL_ERROR "${command}\nended with ${result}:\n${output}")
  endif()
endfunction()

function(expect_answer program)
  execute_process(COMMAND ${program} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE errors)
  if(NOT result EQUAL 0 OR NOT output STREQUAL expected)
    message(FATAL_ERROR "${program} ended with ${result} and said\n${output}${errors}instead of\n${expected}")
  endif()
endfunction()

function(expect_by_package prefix build)
  file(MAKE_DIRECTORY ${build}/sources)
  file(COPY ${SOURCES}/consumer.c ${SOURCES}/consumer.cpp DESTINATION ${build}/sources)
  file(COPY_FILE ${SOURCES}/CMakeLists.consumer.txt ${build}/sources/CMakeLists.txt)
  run(${CMAKE_COMMAND} -S ${build}/sources -B ${build} -G ${GENERATOR} -DCMAKE_PREFIX_PATH=${prefix}
      -DCMAKE_C_COMPILER=${C} -DCMAKE_CXX_COMPILER=${CXX} -DCMAKE_C_FLAGS=${FLAGS} -DCMAKE_CXX_FLAGS=${FLAGS}
      -DWANTED_VERSION=${VERSION} -DCMAKE_FIND_USE_CMAKE_SYSTEM_PATH=OFF)
  run(${CMAKE_COMMAND} --build ${build})
  expect_answer(${build}/consumer_c)
  expect_answer(${build}/consumer_cpp)
endfunction()

function(pkg_config result)
  execute_process(COMMAND ${PKG_CONFIG} ${ARGN} buttonworth OUTPUT_VARIABLE said COMMAND_ERROR_IS_FATAL ANY)
  string(STRIP "${said}" said)
  set(${result} "${said}" PARENT_SCOPE)
endfunction()

function(expect_by_pkg_config prefix build)
  file(MAKE_DIRECTORY ${build})
  file(GLOB_RECURSE found ${prefix}/*/buttonworth.pc)
  cmake_path(GET found PARENT_PATH folder)
  set(ENV{PKG_CONFIG_LIBDIR} ${folder})  # and nowhere else
  pkg_config(version --modversion)
  if(NOT version STREQUAL VERSION)
    message(FATAL_ERROR "pkg-config knows version ${version}, not ${VERSION}")
  endif()
  pkg_config(flags --cflags)
  pkg_config(libraries --libs)
  pkg_config(place --variable=libdir)
  separate_arguments(arguments UNIX_COMMAND "${flags} ${FLAGS}")
  separate_arguments(libraries UNIX_COMMAND "${libraries}")
  run(${C} ${SOURCES}/consumer.c ${arguments} -o ${build}/consumer_c ${libraries})
  run(${CXX} -std=c++17 ${SOURCES}/consumer.cpp ${arguments} -o ${build}/consumer_cpp ${libraries})
  set(ENV{LD_LIBRARY_PATH} ${place})
  expect_answer(${build}/consumer_c)
  expect_answer(${build}/consumer_cpp)
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
