# gw_library(name DEPENDS <folders and packages> SOURCES <files> TESTS <files>)
# One static library a folder, and one test program beside it. The edges of
# DEPENDS are the edges of the design: a folder links only what lies below it.
function(gw_options target)
    target_compile_options(${target} PRIVATE
        "$<$<COMPILE_LANGUAGE:CXX>:-Wall;-Wextra;-Wshadow;-Wnon-virtual-dtor;-Woverloaded-virtual;-Wno-missing-field-initializers>"
        -ffp-contract=off)  # the same bytes give the same bytes, whatever the processor
    if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64")
        target_compile_options(${target} PRIVATE -march=x86-64-v2)
    endif()
    if(GW_WARNINGS_AS_ERRORS)
        target_compile_options(${target} PRIVATE -Werror)
    endif()
    target_include_directories(${target} PRIVATE "${PROJECT_SOURCE_DIR}/src")
    if(TARGET gw_base AND NOT target STREQUAL gw_base)
        target_precompile_headers(${target} REUSE_FROM gw_base)  # parsed once for the whole build
    else()
        target_precompile_headers(${target} PRIVATE "${PROJECT_SOURCE_DIR}/cmake/pch.hpp")
    endif()
endfunction()

function(gw_library name)
    cmake_parse_arguments(arg "" "" "DEPENDS;SOURCES;TESTS;TEST_DEPENDS" ${ARGN})
    add_library(gw_${name} STATIC ${arg_SOURCES})
    target_link_libraries(gw_${name} PUBLIC ${arg_DEPENDS} tl::expected fmt::fmt)
    gw_options(gw_${name})
    if(arg_TESTS AND BUILD_TESTING)
        gw_test_program(${name}_test SOURCES ${arg_TESTS} DEPENDS gw_${name} ${arg_TEST_DEPENDS})
    endif()
endfunction()

function(gw_test_program name)
    cmake_parse_arguments(arg "" "" "DEPENDS;SOURCES" ${ARGN})
    add_executable(${name} ${arg_SOURCES})
    target_link_libraries(${name} PRIVATE ${arg_DEPENDS} GTest::gtest GTest::gtest_main rapidcheck)
    gw_options(${name})
    target_compile_definitions(${name} PRIVATE GW_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
    gtest_discover_tests(${name} TEST_PREFIX "${name}." DISCOVERY_TIMEOUT 60 PROPERTIES TIMEOUT 300)
endfunction()
