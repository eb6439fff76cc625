# Debian's Python looks for packages of Debian in one folder for all its versions.
file(GLOB found ${CPACK_TEMPORARY_INSTALL_DIRECTORY}/usr/lib*/python3.*/site-packages)
foreach(folder ${found})
  cmake_path(GET folder PARENT_PATH version)
  cmake_path(GET version PARENT_PATH library)
  file(MAKE_DIRECTORY ${library}/python3)
  file(RENAME ${folder} ${library}/python3/dist-packages)
  file(REMOVE_RECURSE ${version})
endforeach()
