# edamori_options: the one place where warnings and sanitizers are set.
add_library(edamori_options INTERFACE)
target_compile_options(edamori_options INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion
  -Wdouble-promotion -Wold-style-cast -Wuseless-cast -Wcast-qual
  -Wnon-virtual-dtor -Woverloaded-virtual -Wimplicit-fallthrough
  -Wformat=2 -Wnull-dereference -Wduplicated-cond -Wlogical-op
  $<$<BOOL:${EDAMORI_WERROR}>:-Werror>)
# In Debug the arithmetic on pixels is still optimised: unoptimised, the tests
# on 12 MP photos would not end within their limit.
target_compile_options(edamori_options INTERFACE $<$<CONFIG:Debug>:-Og>)
# Lines and functions are enough to read a backtrace; all of -g takes half as long again to compile.
target_compile_options(edamori_options INTERFACE $<$<CONFIG:RelWithDebInfo>:-g1>)
target_compile_definitions(edamori_options INTERFACE
  $<$<CONFIG:Debug>:_GLIBCXX_ASSERTIONS>)
if(EDAMORI_SANITIZE)
  # g++ 12 sees null dereferences that are not there once the sanitizers have
  # added their branches.
  target_compile_options(edamori_options INTERFACE
    -fsanitize=${EDAMORI_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all
    -Wno-null-dereference -Wno-maybe-uninitialized)
  target_link_options(edamori_options INTERFACE -fsanitize=${EDAMORI_SANITIZE})
endif()

# Every Qt target gets the same strict settings.
add_library(edamori_qt_options INTERFACE)
target_compile_definitions(edamori_qt_options INTERFACE
  QT_NO_CAST_FROM_ASCII QT_NO_CAST_TO_ASCII QT_NO_KEYWORDS QT_NO_FOREACH
  QT_NO_NARROWING_CONVERSIONS_IN_CONNECT QT_DISABLE_DEPRECATED_BEFORE=0x060400)

# edamori_library(NAME SOURCES … PUBLIC … PRIVATE …): one folder, one static library.
function(edamori_library name)
  cmake_parse_arguments(A "" "" "SOURCES;PUBLIC;PRIVATE" ${ARGN})
  add_library(edamori_${name} STATIC ${A_SOURCES})
  add_library(edamori::${name} ALIAS edamori_${name})
  target_include_directories(edamori_${name} PUBLIC ${PROJECT_SOURCE_DIR})
  target_link_libraries(edamori_${name} PUBLIC ${A_PUBLIC} PRIVATE ${A_PRIVATE} edamori_options)
endfunction()

# edamori_test(NAME SOURCES … LINK … LABELS …): one test program, found by ctest.
function(edamori_test name)
  cmake_parse_arguments(A "" "" "SOURCES;LINK;LABELS" ${ARGN})
  add_executable(${name} ${A_SOURCES})
  target_link_libraries(${name} PRIVATE ${A_LINK} edamori_test_support edamori_options)
  # What is tested is optimised; the tests need not be.
  target_compile_options(${name} PRIVATE $<$<CONFIG:RelWithDebInfo>:-O1>)
  target_compile_definitions(${name} PRIVATE
    EDAMORI_SAMPLES_DIR="${PROJECT_SOURCE_DIR}/sample-images")
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST
    PROPERTIES LABELS "${A_LABELS}" TIMEOUT 60)
endfunction()
