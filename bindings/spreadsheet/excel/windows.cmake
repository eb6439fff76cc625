# Builds for 64-bit Windows on Linux, with mingw-w64 of the posix thread model:
#   cmake -G Ninja -S . -B build-windows -DCMAKE_TOOLCHAIN_FILE=bindings/spreadsheet/excel/windows.cmake -DBUTTONWORTH_EXCEL=ON
set(CMAKE_SYSTEM_NAME Windows)
set(CMAKE_SYSTEM_PROCESSOR x86_64)
set(CMAKE_C_COMPILER x86_64-w64-mingw32-gcc-posix)
set(CMAKE_CXX_COMPILER x86_64-w64-mingw32-g++-posix)
set(CMAKE_RC_COMPILER x86_64-w64-mingw32-windres)
set(CMAKE_FIND_ROOT_PATH /usr/x86_64-w64-mingw32)
set(CMAKE_FIND_ROOT_PATH_MODE_PROGRAM NEVER)
set(CMAKE_FIND_ROOT_PATH_MODE_LIBRARY ONLY)
find_program(WINE_EXECUTABLE NAMES wine64 wine PATHS /usr/lib/wine)
if(WINE_EXECUTABLE)
  set(CMAKE_CROSSCOMPILING_EMULATOR ${WINE_EXECUTABLE})
endif()

get_property(trying GLOBAL PROPERTY IN_TRY_COMPILE)
if(trying)
  return()
endif()

# The headers of libraries that are headers alone. The system's folder of headers holds those of its own C library
# too, which are not Windows'; so each is reached by a link, and nothing else is.
set(headers ${CMAKE_BINARY_DIR}/headers)
file(MAKE_DIRECTORY ${headers})
foreach(library boost nlohmann spdlog fmt eigen3/Eigen eigen3/unsupported Random123)
  cmake_path(GET library FILENAME name)
  if(EXISTS /usr/include/${library})
    file(CREATE_LINK /usr/include/${library} ${headers}/${name} SYMBOLIC)
  endif()
endforeach()
set(Boost_NO_BOOST_CMAKE ON)
set(Boost_INCLUDE_DIR ${headers} CACHE PATH "Boost's headers, by a link")
set(RANDOM123_INCLUDE_DIR ${headers} CACHE PATH "Random123's headers, by a link")

# A package of headers: where find_package looks, the target it makes, and the version that the system's own package states.
function(headers_package name target)
  set(folder ${CMAKE_BINARY_DIR}/headers-packages/${name})
  file(CONFIGURE OUTPUT ${folder}/${name}Config.cmake @ONLY CONTENT [[
if(NOT TARGET @target@)
  add_library(@target@ INTERFACE IMPORTED)
  set_target_properties(@target@ PROPERTIES INTERFACE_INCLUDE_DIRECTORIES "@headers@")
endif()
]])
  file(GLOB version /usr/share/cmake/${name}/${name}ConfigVersion.cmake /usr/share/*/cmake/${name}ConfigVersion.cmake
       /usr/lib/*/cmake/${name}/${name}ConfigVersion.cmake)
  file(COPY ${version} DESTINATION ${folder})
  set(${name}_DIR ${folder} CACHE PATH "Headers by a link")
endfunction()
headers_package(nlohmann_json nlohmann_json::nlohmann_json)
headers_package(spdlog spdlog::spdlog_header_only)
headers_package(Eigen3 Eigen3::Eigen)
