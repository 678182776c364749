#pragma once
/// Checks of typed numbers, in words that a person can act on.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <string>

#include "base/text.hpp"

namespace gw::app {

inline CLI::Validator above_zero() {
    return CLI::Validator(
        [](std::string& typed) {
            auto const number = parse_number(typed);
            return number && *number > 0 ? std::string() : "It must be a number above zero.";
        },
        "");
}

inline CLI::Validator count() {
    return CLI::Validator(
        [](std::string& typed) {
            bool const digits = std::all_of(
                typed.begin(), typed.end(), [](char c) { return c >= '0' && c <= '9'; });
            return digits ? std::string() : "It must be a whole number, zero or more.";
        },
        "");
}

}  // namespace gw::app
