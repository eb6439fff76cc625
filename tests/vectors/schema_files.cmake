# The committed schemas are those that the library gives.
# cmake -DWRITE_SCHEMAS=… -DCOMMITTED=… -DFOLDER=… -P schema_files.cmake
file(REMOVE_RECURSE ${FOLDER})
file(MAKE_DIRECTORY ${FOLDER})
execute_process(COMMAND ${WRITE_SCHEMAS} ${FOLDER} COMMAND_ERROR_IS_FATAL ANY)
foreach(name plan comparison options delivery statement return reconciliation returns reconciliations month book dispute contest call accounted
        sampling sampling-error screen-assay screened-grade run-sheet lot balance balanced table-test fitted-curve charge flux bar bar-check lot-size waiting
        simulate-options simulation lot-values-options lot-values worth-options worth break-even-options break-even counter-offers-options counter-offers forgiving-cut-options forgiving-cut sensitivity-options
        sensitivity map-options map allocation schedule)
  execute_process(COMMAND ${CMAKE_COMMAND} -E compare_files ${FOLDER}/${name}.json ${COMMITTED}/${name}.json
                  RESULT_VARIABLE different)
  if(different)
    message(SEND_ERROR "${COMMITTED}/${name}.json is not what the library gives; write it anew with write_schemas ${COMMITTED}")
  endif()
endforeach()
