# The add-in for Excel: a library with the core, the C interface and the cells' functions in it, and a module of VBA.
if(NOT WIN32)
  message(FATAL_ERROR "BUTTONWORTH_EXCEL wants CMAKE_TOOLCHAIN_FILE=bindings/spreadsheet/excel/windows.cmake")
endif()
set(module ${CMAKE_CURRENT_BINARY_DIR}/Buttonworth.bas)
add_custom_command(
  OUTPUT ${module}
  COMMAND ${Python3_EXECUTABLE} -B ${CMAKE_CURRENT_SOURCE_DIR}/generate ${CMAKE_CURRENT_SOURCE_DIR}/functions.json
          excel ${module} --version ${PROJECT_VERSION}
  DEPENDS functions.json excel/loading.bas ${generator}
  COMMENT "Excel: the module" VERBATIM)
add_custom_target(bw_excel_module ALL DEPENDS ${module})
set_target_properties(bw_excel_module PROPERTIES MODULE ${module})
# Exactly the C interface and the entries are exported.
file(STRINGS ${PROJECT_SOURCE_DIR}/capi/symbols.txt symbols)
file(READ excel/entries.hpp entries)
string(REGEX MATCHALL "buttonworth_[a-z_]+[(]" entries "${entries}")
string(REPLACE "(" "" entries "${entries}")
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/capi/symbols.txt excel/entries.hpp)
list(JOIN symbols "\n" symbols)
list(JOIN entries "\n" entries)
file(CONFIGURE OUTPUT excel.def CONTENT "EXPORTS\n${symbols}\n${entries}\n")
configure_file(excel/version.rc.in version.rc @ONLY)

add_library(bw_excel SHARED excel/entries.cpp excel/start.cpp excel/variants.cpp $<TARGET_OBJECTS:bw_cells> ${core}
            ${CMAKE_CURRENT_BINARY_DIR}/excel.def ${CMAKE_CURRENT_BINARY_DIR}/version.rc)
target_include_directories(bw_excel PRIVATE cells ${PROJECT_SOURCE_DIR}/include)
target_link_libraries(bw_excel PRIVATE oleaut32)
target_link_options(bw_excel PRIVATE -static -s -Wl,--entry=buttonworth_start)
set_target_properties(bw_excel PROPERTIES PREFIX "" OUTPUT_NAME buttonworth)
install(TARGETS bw_excel RUNTIME DESTINATION buttonworth/excel COMPONENT excel)
install(FILES ${module} excel/README.md excel/entries.hpp ${PROJECT_SOURCE_DIR}/LICENSE
        DESTINATION buttonworth/excel COMPONENT excel)
install(FILES README.md GUIDE.md FUNCTIONS.md DESTINATION buttonworth COMPONENT excel)
install(DIRECTORY pictures DESTINATION buttonworth COMPONENT excel)
