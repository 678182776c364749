#pragma once
// The gas property table and the name table, checked and written as one C++ header.
#include <nlohmann/json.hpp>
#include <string>

// Throws std::runtime_error with one sentence when a table cannot be right: a number that is none,
// a molar mass that its atoms contradict, a name that means two components, a constant that is
// missing.
std::string gas_tables_header(nlohmann::ordered_json const& properties,
                              nlohmann::ordered_json const& names);
