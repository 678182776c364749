# Tables of constants are data; each is turned
# into a header at build time by a generator under tools/.
# Target gw_generated makes all of them and nothing else: what clang-tidy needs before it can read.
add_custom_target(gw_generated)
function(gw_generated_header target out)
    get_filename_component(name "${out}" NAME_WE)
    target_sources(${target} PRIVATE "${out}")
    target_include_directories(${target} PRIVATE "${CMAKE_CURRENT_BINARY_DIR}/generated")
    add_custom_target(gw_generated_${name} DEPENDS "${out}")
    add_dependencies(gw_generated gw_generated_${name})
endfunction()

# gw_embed(target NAME name FILES data/...): files shipped inside the program as text, found by name
# in the generated header "<name>.hpp".
function(gw_embed target)
    cmake_parse_arguments(arg "" "NAME" "FILES" ${ARGN})
    set(out "${CMAKE_CURRENT_BINARY_DIR}/generated/${arg_NAME}.hpp")
    set(paths "")
    foreach(file ${arg_FILES})
        list(APPEND paths "${PROJECT_SOURCE_DIR}/data/${file}")
    endforeach()
    add_custom_command(OUTPUT "${out}"
        COMMAND gw_embed_text "${out}" "${arg_NAME}" "${PROJECT_SOURCE_DIR}/data" ${arg_FILES}
        DEPENDS gw_embed_text ${paths}
        COMMENT "Embedding ${arg_NAME}" VERBATIM)
    gw_generated_header(${target} "${out}")
endfunction()

# gw_gas_tables_header(target): data/gas as "gas_tables.hpp", constants of namespace gw::generated.
function(gw_gas_tables_header target)
    set(out "${CMAKE_CURRENT_BINARY_DIR}/generated/gas_tables.hpp")
    set(tables "${PROJECT_SOURCE_DIR}/data/gas/iso6976_2016.json"
               "${PROJECT_SOURCE_DIR}/data/gas/component_names.json")
    add_custom_command(OUTPUT "${out}"
        COMMAND gw_gas_tables "${out}" ${tables}
        DEPENDS gw_gas_tables ${tables}
        COMMENT "Turning the gas tables into a header" VERBATIM)
    gw_generated_header(${target} "${out}")
endfunction()
