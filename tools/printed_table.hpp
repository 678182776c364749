#pragma once
// What every generator of tables needs: numbers as printed, and complaints that name the row.
#include <nlohmann/json.hpp>
#include <string>

namespace printed_table {

using Json = nlohmann::ordered_json;

[[noreturn]] void refuse(std::string const& where, std::string const& what);
// A printed number; the text itself goes into the header, so that every digit is kept.
double number(Json const& text, std::string const& where);
// The printed digits, after they were found to be a number.
std::string digits(Json const& text, std::string const& where);
Json const& member(Json const& object, char const* key, std::string const& where);
// A name in plain ASCII.
std::string plain(Json const& text, std::string const& where);
// The same in quotation marks.
std::string quoted(Json const& text, std::string const& where);

}  // namespace printed_table
