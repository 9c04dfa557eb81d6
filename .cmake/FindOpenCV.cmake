# Finds the few OpenCV libraries that Edamori uses, from Debian's per-module packages.
# Debian puts OpenCVConfig.cmake into libopencv-dev alone, which brings every module with
# GDAL, VTK and Qt 5 behind it; the module packages suffice to build.
#
# Defines imported targets opencv_<component> and OpenCV_INCLUDE_DIRS.
include(FindPackageHandleStandardArgs)
find_path(OpenCV_INCLUDE_DIR opencv2/core.hpp PATH_SUFFIXES opencv4)
set(OpenCV_INCLUDE_DIRS ${OpenCV_INCLUDE_DIR})
if(OpenCV_INCLUDE_DIR)
  file(STRINGS "${OpenCV_INCLUDE_DIR}/opencv2/core/version.hpp" opencv_version_lines
       REGEX "#define CV_VERSION_(MAJOR|MINOR|REVISION)")
  string(REGEX REPLACE "[^0-9;]" "" opencv_version_numbers "${opencv_version_lines}")
  list(JOIN opencv_version_numbers "." OpenCV_VERSION)
endif()
set(opencv_libraries "")
foreach(component IN LISTS OpenCV_FIND_COMPONENTS)
  find_library(OpenCV_${component}_LIBRARY opencv_${component})
  list(APPEND opencv_libraries OpenCV_${component}_LIBRARY)
  if(OpenCV_${component}_LIBRARY AND NOT TARGET opencv_${component})
    add_library(opencv_${component} UNKNOWN IMPORTED GLOBAL)
    set_target_properties(opencv_${component} PROPERTIES
      IMPORTED_LOCATION "${OpenCV_${component}_LIBRARY}"
      INTERFACE_INCLUDE_DIRECTORIES "${OpenCV_INCLUDE_DIR}")
  endif()
endforeach()
find_package_handle_standard_args(OpenCV
  REQUIRED_VARS OpenCV_INCLUDE_DIR ${opencv_libraries} VERSION_VAR OpenCV_VERSION)
