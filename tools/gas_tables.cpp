#include "tools/gas_tables.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <map>
#include <vector>

#include "tools/printed_table.hpp"

namespace {

using printed_table::Json;
using printed_table::member;
using printed_table::quoted;
using printed_table::refuse;

constexpr std::array<char const*, 8> elements = {"C", "H", "N", "O", "S", "He", "Ne", "Ar"};
std::vector<std::string> const combustion_c = {"0", "15", "15.55", "20", "25"};
std::vector<std::string> const metering_c = {"0", "15", "15.55", "20"};

double printed(Json const& text, std::string const& where) {
    return printed_table::number(text, where);
}

// Half of the last printed digit.
double half_digit(Json const& text) {
    auto const& digits = text.get_ref<std::string const&>();
    auto const point = digits.find('.');
    auto const decimals = point == std::string::npos ? 0 : digits.size() - point - 1;
    return 0.5 * std::pow(10.0, -static_cast<double>(decimals));
}

// The same rule as find_component: what does not matter in a name is dropped.
std::string key_of(std::string const& name) {
    std::string key;
    for (char const c : name)
        if (c != ' ' && c != '-' && c != ',' && c != '_')
            key += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return key;
}

class Constants {
  public:
    explicit Constants(Json const& list) {
        for (auto const& row : list) {
            auto const symbol = member(row, "symbol", "constants").get<std::string>();
            auto const where = "constant " + symbol;
            printed(member(row, "value", where), where);
            if (printed(member(row, "u", where), where) < 0) refuse(where, "u is negative");
            if (member(row, "source", where).get<std::string>().empty())
                refuse(where, "it has no source");
            if (!rows_.emplace(symbol, row).second) refuse(where, "it stands twice");
        }
    }
    Json const& row(std::string const& symbol) const {
        auto const found = rows_.find(symbol);
        if (found == rows_.end()) refuse("constant " + symbol, "it is missing");
        return found->second;
    }
    double value(std::string const& symbol) const {
        return printed(row(symbol).at("value"), symbol);
    }
    std::string text(std::string const& symbol) const {
        auto const& r = row(symbol);
        return fmt::format(
            "{{{}, {}}}", r.at("value").get<std::string>(), r.at("u").get<std::string>());
    }

  private:
    std::map<std::string, Json> rows_;
};

std::string list_of(Json const& list, std::size_t count, std::string const& where) {
    if (!list.is_array() || list.size() != count)
        refuse(where, fmt::format("{} values are needed", count));
    std::string out;
    for (auto const& item : list) {
        printed(item, where);
        out += (out.empty() ? "" : ", ") + item.get<std::string>();
    }
    return out;
}

std::string component_row(Json const& row, Constants const& constants) {
    auto const name = quoted(member(row, "name", "components"), "components");
    auto const& atoms = member(row, "atoms", name);
    double mass = 0.0;
    std::string counts;
    std::size_t known = 0;
    for (char const* element : elements) {
        int const count = atoms.contains(element) ? atoms.at(element).get<int>() : 0;
        if (count < 0 || count > 99) refuse(name, "an atom count is impossible");
        known += atoms.contains(element) ? 1 : 0;
        counts += fmt::format("{}{}", counts.empty() ? "" : ", ", count);
        mass += count * constants.value(fmt::format("A({})", element));
    }
    if (known != atoms.size()) refuse(name, "it holds an element without atomic mass");
    auto const& molar_mass = member(row, "molar_mass", name);
    double const stated = printed(molar_mass, name);
    if (!(stated > 0 && std::abs(stated - mass) <= half_digit(molar_mass) + 1e-12))
        refuse(name,
               fmt::format(
                   "the molar mass {} contradicts its atoms, which give {:.6f}", stated, mass));
    auto const& u_cv = member(row, "u_gross_cv", name);
    auto const& u_s = member(row, "u_s", name);
    if (printed(u_cv, name) < 0 || printed(u_s, name) < 0) refuse(name, "u is negative");
    auto const& cv = member(row, "gross_cv", name);
    auto const cv_list = list_of(cv, combustion_c.size(), name);
    for (auto const& value : cv)
        if (printed(value, name) < 0) refuse(name, "a calorific value is negative");
    if (name == "\"water\"")  // the sums rely on it: the gross value of water is its latent heat
        for (std::size_t i = 0; i < combustion_c.size(); ++i) {
            auto const symbol = "L0(" + combustion_c[i] + ")";
            if (printed(cv[i], name) != constants.value(symbol) ||
                printed(u_cv, name) != printed(constants.row(symbol).at("u"), symbol))
                refuse(name, "its gross calorific value is not " + symbol);
        }
    return fmt::format("    {{{}, {{{}}}, {}, {{{}}}, {}, {{{}}}, {}}},\n",
                       name,
                       counts,
                       molar_mass.get<std::string>(),
                       cv_list,
                       u_cv.get<std::string>(),
                       list_of(member(row, "s", name), metering_c.size(), name),
                       u_s.get<std::string>());
}

std::string series(Constants const& constants,
                   char const* symbol,
                   std::vector<std::string> const& labels) {
    std::string out;
    for (auto const& label : labels)
        out += (out.empty() ? "" : ", ") + constants.text(fmt::format("{}({})", symbol, label));
    return out;
}

void require_labels(Json const& properties,
                    char const* key,
                    std::vector<std::string> const& labels) {
    if (member(properties, key, "table") != Json(labels))
        refuse(key, "the temperatures are not those of the program");
}

}  // namespace

std::string gas_tables_header(Json const& properties, Json const& names) {
    require_labels(properties, "combustion_c", combustion_c);
    require_labels(properties, "metering_c", metering_c);
    Constants const constants(member(properties, "constants", "table"));
    auto const& components = member(properties, "components", "table");
    auto const& named = member(names, "names", "names");
    if (named.size() != components.size() + 1)
        refuse("names", "one row for each component and one for C6+ are needed");

    std::string rows;
    for (auto const& row : components) rows += component_row(row, constants);

    std::map<std::string, std::size_t>
        meaning;  // key to row; sorted, so that the program can search it
    std::string first_names;
    for (std::size_t i = 0; i < named.size(); ++i) {
        auto const& row = named[i];
        auto const where = fmt::format("names, row {}", i + 1);
        auto const& name = member(row, "name", where);
        if (i < components.size() ? name != components[i].at("name") : name != Json("C6+"))
            refuse(where, "the order is not that of the property table, C6+ last");
        first_names += fmt::format("    {},\n", quoted(name, where));
        std::vector<Json> forms{name};
        for (auto const& other : member(row, "also", where)) forms.push_back(other);
        for (auto const& form : forms) {
            quoted(form, where);
            auto const key = key_of(form.get<std::string>());
            auto const [entry, fresh] = meaning.emplace(key, i);
            if (!fresh)
                refuse(where,
                       fmt::format("\"{}\" stands twice (row {})",
                                   form.get<std::string>(),
                                   entry->second + 1));
        }
    }
    std::string keys;
    for (auto const& [key, index] : meaning)
        keys += fmt::format("    {{\"{}\", {}}},\n", key, index);

    std::string masses;
    for (char const* element : elements)
        masses += (masses.empty() ? "" : ", ") + constants.text(fmt::format("A({})", element));

    return fmt::format(
        R"(// Generated from the tables under data/gas; not kept in the repository.
#pragma once
#include <array>
#include <cstdint>
#include <string_view>

namespace gw::generated {{

struct Printed {{
    double value, u;
}};
struct ComponentRow {{
    std::string_view name;
    std::array<int, 8> atoms;        // C H N O S He Ne Ar
    double molar_mass;               // kg/kmol
    std::array<double, 5> gross_cv;  // kJ/mol at 0, 15, 15.55, 20, 25 degC
    double u_gross_cv;
    std::array<double, 4> s;         // at 0, 15, 15.55, 20 degC
    double u_s;
}};
struct NameKey {{
    std::string_view key;
    std::uint8_t index;
}};

inline constexpr Printed molar_gas_constant = {};
inline constexpr Printed molar_mass_of_air = {};
inline constexpr std::array<Printed, 4> compression_factor_of_air = {{{{{}}}}};
inline constexpr std::array<Printed, 5> latent_heat_of_water = {{{{{}}}}};
inline constexpr std::array<Printed, 8> atomic_mass = {{{{{}}}}};
inline constexpr Printed reference_pressure_kpa = {};

inline constexpr std::array<ComponentRow, {}> components = {{{{
{}}}}};

inline constexpr std::array<std::string_view, {}> names = {{{{
{}}}}};

inline constexpr std::array<NameKey, {}> name_keys = {{{{
{}}}}};

}}  // namespace gw::generated
)",
        constants.text("R"),
        constants.text("M_air"),
        series(constants, "Z_air", metering_c),
        series(constants, "L0", combustion_c),
        masses,
        constants.text("p0"),
        components.size(),
        rows,
        named.size(),
        first_names,
        meaning.size(),
        keys);
}
