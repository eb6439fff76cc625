# LibreOffice Calc's add-in: a package that needs nothing but itself.
find_path(LIBREOFFICE_INCLUDE_DIR sal/config.h PATHS /usr/include/libreoffice /usr/lib/libreoffice/sdk/include REQUIRED)
find_path(LIBREOFFICE_DIR sdk/bin/cppumaker PATHS /usr/lib/libreoffice /usr/lib64/libreoffice /opt/libreoffice REQUIRED)

# From a table of functions all that an add-in wants besides its component, in a folder; a target of that name.
function(buttonworth_cells_table target table module folder)
  set(files methods.inc Cells.idl package/CalcAddIns.xcu package/Cells.components
      package/description.xml package/META-INF/manifest.xml)
  list(TRANSFORM files PREPEND ${folder}/)
  set(types ${LIBREOFFICE_DIR}/program/types.rdb ${LIBREOFFICE_DIR}/program/types/offapi.rdb)
  set(made ${files} ${folder}/package/Cells.rdb ${folder}/types/${module}/XCells.hpp)
  file(GLOB generator CONFIGURE_DEPENDS ${CMAKE_CURRENT_FUNCTION_LIST_DIR}/../generate/*.py)
  add_custom_command(
    OUTPUT ${made}
    COMMAND ${Python3_EXECUTABLE} -B ${CMAKE_CURRENT_FUNCTION_LIST_DIR}/../generate ${table} calc ${folder}
            --version ${PROJECT_VERSION} --platform linux_${CMAKE_SYSTEM_PROCESSOR}
    COMMAND ${LIBREOFFICE_DIR}/sdk/bin/unoidl-write ${types} ${folder}/Cells.idl ${folder}/package/Cells.rdb
    COMMAND ${LIBREOFFICE_DIR}/sdk/bin/cppumaker -Gc -O${folder}/types -T${module}.XCells
            -Tcom.sun.star.lang.XServiceInfo -Tcom.sun.star.lang.XTypeProvider -Tcom.sun.star.uno.XComponentContext
            -Tcom.sun.star.uno.XWeak -Tcom.sun.star.uno.XAggregation ${types} ${folder}/package/Cells.rdb
    DEPENDS ${table} ${generator}
    COMMENT "Calc: what is made of ${table}" VERBATIM)
  add_custom_target(${target} DEPENDS ${made})
endfunction()

# A component of Calc, of the sources given, in the folder that a table was made into.
function(buttonworth_calc_component target made module folder)
  set(here ${CMAKE_CURRENT_FUNCTION_LIST_DIR})
  add_library(${target} MODULE ${ARGN})
  add_dependencies(${target} ${made})
  target_include_directories(${target} PRIVATE ${here}/../cells ${folder})
  target_include_directories(${target} SYSTEM PRIVATE ${folder}/types ${LIBREOFFICE_INCLUDE_DIR})
  target_compile_definitions(${target} PRIVATE CPPU_ENV=gcc3 LINUX UNX GCC)
  target_link_directories(${target} PRIVATE ${LIBREOFFICE_DIR}/sdk/lib)
  target_link_libraries(${target} PRIVATE uno_cppuhelpergcc3 uno_cppu uno_sal)
  target_link_options(${target} PRIVATE -s -Wl,--version-script=${here}/component.map)
  set_target_properties(${target} PROPERTIES PREFIX "" OUTPUT_NAME ${module}_cells
    LIBRARY_OUTPUT_DIRECTORY ${folder}/package LINK_DEPENDS ${here}/component.map)
endfunction()

# The package of a component: ${target}'s property EXTENSION is its file.
function(buttonworth_calc_package target component made module folder extension)
  add_custom_command(
    OUTPUT ${extension}
    COMMAND ${CMAKE_COMMAND} -E copy ${PROJECT_SOURCE_DIR}/LICENSE ${folder}/package/LICENSE
    COMMAND ${CMAKE_COMMAND} -E rm -f ${extension}
    COMMAND ${CMAKE_COMMAND} -E chdir ${folder}/package ${CMAKE_COMMAND} -E tar cf ${extension} --format=zip
            META-INF CalcAddIns.xcu Cells.components Cells.rdb description.xml ${module}_cells.so LICENSE
    DEPENDS ${component} ${made} ${folder}/package/CalcAddIns.xcu ${PROJECT_SOURCE_DIR}/LICENSE
    COMMENT "Calc: the package" VERBATIM)
  add_custom_target(${target} DEPENDS ${extension})
  set_target_properties(${target} PROPERTIES EXTENSION ${extension})
endfunction()

buttonworth_cells_table(bw_cells_made ${CMAKE_CURRENT_SOURCE_DIR}/functions.json buttonworth ${generated})
buttonworth_calc_component(bw_calc bw_cells_made buttonworth ${generated} calc/component.cpp
                           $<TARGET_OBJECTS:bw_cells> ${core})
set(extension ${CMAKE_CURRENT_BINARY_DIR}/buttonworth-${PROJECT_VERSION}.oxt)
buttonworth_calc_package(bw_calc_package bw_calc bw_cells_made buttonworth ${generated} ${extension})
add_custom_target(bw_calc_all ALL DEPENDS bw_calc_package)
install(FILES ${extension} README.md GUIDE.md FUNCTIONS.md DESTINATION ${CMAKE_INSTALL_DATADIR}/buttonworth COMPONENT calc)
install(DIRECTORY pictures DESTINATION ${CMAKE_INSTALL_DATADIR}/buttonworth COMPONENT calc)
