#pragma once
/// Rows of data/published/<file>.json by id.
#include <gtest/gtest.h>

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "base/file.hpp"
#include "base/json.hpp"

namespace gw {

inline Json const& published_row(std::string const& file, std::string const& id) {
    static std::map<std::string, Json> files;
    auto found = files.find(file);
    if (found == files.end()) {
        auto const path = std::string(GW_SOURCE_DIR) + "/data/published/" + file + ".json";
        found = files.emplace(file, parse_json(read_file(path).value(), path).value().root().raw())
                    .first;
    }
    for (auto const& one : found->second.at("rows"))
        if (one.at("id") == id) return one;
    ADD_FAILURE() << "no row " << id << " in " << file;
    return found->second.at("rows").at(0);
}

inline std::vector<double> numbers(Json const& list) { return list.get<std::vector<double>>(); }

inline void expect_relative(double got, double wanted, double relative, std::string const& what) {
    EXPECT_NEAR(got, wanted, relative * std::abs(wanted)) << what;
}

}  // namespace gw
