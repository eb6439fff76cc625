# The report, a part of the Python package that is plain Python: its files beside the module in the build tree,
# and installed with it.
file(GLOB_RECURSE report_files CONFIGURE_DEPENDS RELATIVE ${PROJECT_SOURCE_DIR}/bindings/python
     ${PROJECT_SOURCE_DIR}/bindings/python/buttonworth/report/*.py
     ${PROJECT_SOURCE_DIR}/bindings/python/buttonworth/report/templates/*)
foreach(file ${report_files})
  configure_file(${PROJECT_SOURCE_DIR}/bindings/python/${file} ${PROJECT_BINARY_DIR}/bindings/python/${file} COPYONLY)
  get_filename_component(folder ${file} DIRECTORY)
  install(FILES ${PROJECT_SOURCE_DIR}/bindings/python/${file} DESTINATION ${BUTTONWORTH_PYTHON_DIR}/${folder}
          COMPONENT python)
endforeach()
