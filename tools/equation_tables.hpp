#pragma once
// The tables of the heating-value standard in US units, of the wide-range equations and of the
// cubic equations, checked and written as C++ headers. Each function throws std::runtime_error with
// one sentence when its table cannot be right.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

// names: the components in the order of the program (data/gas/component_names.json, without C6+).
std::vector<std::string> component_order(nlohmann::ordered_json const& names);

std::string us_header(nlohmann::ordered_json const& table, std::vector<std::string> const& order);
std::string gerg_header(nlohmann::ordered_json const& table,
                        nlohmann::ordered_json const& substitutes,
                        std::vector<std::string> const& order);
std::string detail_header(nlohmann::ordered_json const& table, nlohmann::ordered_json const& gerg);
std::string cubic_header(nlohmann::ordered_json const& constants,
                         nlohmann::ordered_json const& interaction,
                         std::vector<std::string> const& order);
