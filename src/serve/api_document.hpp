#pragma once
/// For tests: data/api/openapi.json with all of data/api/paths/*.json in it, as the build of the
/// page reads them. Throws when a path or a schema stands in two files.
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "base/json.hpp"

namespace gw::serve {

inline Json api_document() {
    std::filesystem::path const folder = std::string(GW_SOURCE_DIR) + "/data/api";
    auto out = Json::parse(std::ifstream(folder / "openapi.json"));
    auto const take = [](Json& into, Json const& from, std::string const& file) {
        for (auto const& [name, value] : from.items()) {
            if (into.contains(name)) throw std::runtime_error(file + " repeats " + name);
            into[name] = value;
        }
    };
    for (auto const& entry : std::filesystem::directory_iterator(folder / "paths")) {
        auto const part = Json::parse(std::ifstream(entry.path()));
        take(out["paths"], part.at("paths"), entry.path().filename().string());
        take(out["components"]["schemas"], part.at("schemas"), entry.path().filename().string());
    }
    return out;
}

}  // namespace gw::serve
