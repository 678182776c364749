#include "tools/printed_table.hpp"

#include <charconv>
#include <cmath>
#include <stdexcept>

namespace printed_table {

void refuse(std::string const& where, std::string const& what) {
    throw std::runtime_error(where + ": " + what);
}

double number(Json const& text, std::string const& where) {
    if (!text.is_string()) refuse(where, "a number is written as text, with its digits as printed");
    auto const& printed = text.get_ref<std::string const&>();
    double value = 0.0;
    auto const [end, problem] =
        std::from_chars(printed.data(), printed.data() + printed.size(), value);
    if (problem != std::errc() || end != printed.data() + printed.size() || !std::isfinite(value))
        refuse(where, "\"" + printed + "\" is not a number");
    return value;
}

std::string digits(Json const& text, std::string const& where) {
    number(text, where);
    return text.get<std::string>();
}

Json const& member(Json const& object, char const* key, std::string const& where) {
    if (!object.is_object() || !object.contains(key))
        refuse(where, std::string(key) + " is missing");
    return object.at(key);
}

std::string plain(Json const& text, std::string const& where) {
    if (!text.is_string()) refuse(where, "a name is text");
    auto const& name = text.get_ref<std::string const&>();
    for (char const c : name)
        if (c < ' ' || c > '~' || c == '"' || c == '\\') refuse(where, "a name is plain ASCII");
    return name;
}

std::string quoted(Json const& text, std::string const& where) {
    return '"' + plain(text, where) + '"';
}

}  // namespace printed_table
