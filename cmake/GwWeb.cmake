# gw_web_assets(target): the page of web/, bundled by npm and put into `target` as assets() of
# serve/assets.hpp. Bundled again only when a source of the page or the API's description changed.
function(gw_web_assets target)
    set(out "${CMAKE_CURRENT_BINARY_DIR}/web")
    set(web "${PROJECT_SOURCE_DIR}/web")
    file(GLOB_RECURSE sources CONFIGURE_DEPENDS "${web}/src/*" "${web}/public/*")
    file(GLOB api CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/data/api/paths/*.json")
    list(FILTER sources EXCLUDE REGEX "src/api/types\\.ts$|\\.test\\.tsx?$")  # made by the build; not shipped
    add_custom_command(OUTPUT "${out}/assets.S" "${out}/assets.cpp"
        COMMAND "${web}/scripts/bundle.sh" "${out}/dist" "${out}/br"
        COMMAND "${CMAKE_COMMAND}" "-DDIST=${out}/dist" "-DOUT=${out}" -P "${PROJECT_SOURCE_DIR}/cmake/embed_web.cmake"
        DEPENDS ${sources} "${web}/index.html" "${web}/package.json" "${web}/package-lock.json"
                "${web}/tsconfig.json" "${web}/vite.config.ts" "${web}/scripts/bundle.sh"
                "${web}/scripts/install.sh" "${web}/scripts/types.mjs" "${web}/scripts/brotli.mjs"
                "${PROJECT_SOURCE_DIR}/data/api/openapi.json" ${api} "${PROJECT_SOURCE_DIR}/cmake/embed_web.cmake"
        COMMENT "Bundling the page" VERBATIM)
    # .incbin is invisible to ninja: the table changes whenever a file of the bundle does.
    set_source_files_properties("${out}/assets.S" PROPERTIES OBJECT_DEPENDS "${out}/assets.cpp")
    set_source_files_properties("${out}/assets.S" "${out}/assets.cpp" PROPERTIES SKIP_PRECOMPILE_HEADERS ON)
    target_sources(${target} PRIVATE "${out}/assets.S" "${out}/assets.cpp")
endfunction()
