#include "tools/equation_tables.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "tools/printed_table.hpp"

using printed_table::digits;
using printed_table::Json;
using printed_table::member;
using printed_table::number;
using printed_table::plain;
using printed_table::quoted;
using printed_table::refuse;

namespace {

constexpr std::size_t equation_components = 21;

std::size_t place_of(std::vector<std::string> const& order,
                     std::string const& name,
                     std::string const& where) {
    auto const found = std::find(order.begin(), order.end(), name);
    if (found == order.end()) refuse(where, "\"" + name + "\" is no component");
    return static_cast<std::size_t>(found - order.begin());
}

std::string joined_digits(Json const& list, std::size_t count, std::string const& where) {
    if (!list.is_array() || list.size() != count)
        refuse(where, fmt::format("{} values are needed", count));
    std::string out;
    for (auto const& item : list) out += (out.empty() ? "" : ", ") + digits(item, where);
    return out;
}

std::string positive(Json const& row, char const* key, std::string const& where) {
    auto const& text = member(row, key, where);
    if (!(number(text, where) > 0)) refuse(where, std::string(key) + " is not positive");
    return text.get<std::string>();
}

std::string constants(Json const& table) {
    std::string out;
    for (auto const& row : member(table, "constants", "table")) {
        auto const symbol = plain(member(row, "symbol", "constants"), "constants");
        if (plain(member(row, "source", symbol), symbol).empty())
            refuse(symbol, "it has no source");
        out += fmt::format("inline constexpr double {} = {};  // {}\n",
                           symbol,
                           digits(member(row, "value", symbol), symbol),
                           plain(member(row, "unit", symbol), symbol));
    }
    return out;
}

std::string header(char const* name, std::string const& body) {
    return fmt::format(
        "// Generated from the tables under data/gas; not kept in the repository.\n#pragma once\n"
        "#include <array>\n#include <cstdint>\n\nnamespace gw::generated::{} {{\n\n{}\n}}  // "
        "namespace gw::generated::{}\n",
        name,
        body,
        name);
}

std::string array_of(char const* type,
                     char const* name,
                     std::size_t count,
                     std::string const& rows) {
    return fmt::format(
        "inline constexpr std::array<{}, {}> {} = {{{{\n{}}}}};\n\n", type, count, name, rows);
}

// The 21 names of a wide-range equation, in the order of its table.
std::vector<std::string> names_of(Json const& table) {
    std::vector<std::string> out;
    for (auto const& row : member(table, "components", "table")) {
        auto const name = plain(member(row, "name", "components"), "components");
        if (std::find(out.begin(), out.end(), name) != out.end()) refuse(name, "it stands twice");
        out.push_back(name);
    }
    if (out.size() != equation_components) refuse("components", "21 are needed");
    return out;
}

// Rows that name a pair; no pair twice, in either order.
class Pairs {
  public:
    explicit Pairs(std::vector<std::string> const& order) : order_(order) {}
    std::string of(Json const& row, std::size_t columns) {
        if (!row.is_array() || row.size() != columns)
            refuse("binary", fmt::format("a row has {} columns", columns));
        auto const a = plain(row[0], "binary"), b = plain(row[1], "binary");
        auto const where = a + " + " + b;
        auto const i = place_of(order_, a, where), j = place_of(order_, b, where);
        if (i == j || !seen_.insert({std::min(i, j), std::max(i, j)}).second)
            refuse(where, "the pair is none or stands twice");
        return fmt::format("{}, {}", i, j);
    }
    [[nodiscard]] std::size_t count() const { return seen_.size(); }

  private:
    std::vector<std::string> const& order_;
    std::set<std::pair<std::size_t, std::size_t>> seen_;
};

}  // namespace

std::vector<std::string> component_order(Json const& names) {
    std::vector<std::string> out;
    for (auto const& row : member(names, "names", "names"))
        out.push_back(plain(member(row, "name", "names"), "names"));
    if (out.empty() || out.back() != "C6+") refuse("names", "C6+ is the last");
    out.pop_back();
    return out;
}

std::string us_header(Json const& table, std::vector<std::string> const& order) {
    std::vector<std::string> rows(order.size(), "    {},\n");
    std::set<std::size_t> seen;
    for (auto const& row : member(table, "components", "table")) {
        auto const name = plain(member(row, "name", "components"), "components");
        auto const at = place_of(order, name, "components");
        if (!seen.insert(at).second) refuse(name, "it stands twice");
        auto const& cv = member(row, "gross_cv", name);
        auto const& s = member(row, "s", name);
        if (number(cv, name) < 0 || number(s, name) < 0) refuse(name, "a value is negative");
        rows[at] = fmt::format(
            "    {{true, {}, {}, {}, {}}},  // {}\n",
            positive(row, "molar_mass", name),
            digits(cv, name),
            digits(s, name),
            row.contains("gas_per_gallon") ? positive(row, "gas_per_gallon", name) : "0",
            name);
    }
    std::string all;
    for (auto const& row : rows) all += row;
    return header(
        "us",
        constants(table) +
            "\nstruct row {\n    bool listed = false;\n    double molar_mass = 0;  // "
            "lb/lbmol\n    double gross_cv = 0;    // Btu/ft3, ideal\n    double s = 0;\n    "
            "double gas_per_gallon = 0;  // ft3/gal, ideal; 0: not listed\n};\n\n" +
            array_of("row", "components", rows.size(), all));
}

std::string gerg_header(Json const& table,
                        Json const& substitutes,
                        std::vector<std::string> const& order) {
    auto const names = names_of(table);
    auto body = constants(table);

    // Who of the program's components is which of the 21.
    std::vector<int> equation_place(order.size(), -1);
    std::vector<bool> itself(order.size(), false);
    for (std::size_t i = 0; i < names.size(); ++i) {
        auto const at = place_of(order, names[i], "components");
        equation_place[at] = static_cast<int>(i);
        itself[at] = true;
    }
    for (auto const& row : member(substitutes, "components", "substitutes")) {
        auto const name = plain(member(row, "name", "substitutes"), "substitutes");
        auto const at = place_of(order, name, "substitutes");
        if (equation_place[at] >= 0)
            refuse(name, "it is a component of the equation, or stands twice");
        equation_place[at] =
            static_cast<int>(place_of(names, plain(member(row, "taken_as", name), name), name));
    }
    std::string places;
    for (std::size_t i = 0; i < order.size(); ++i) {
        if (equation_place[i] < 0) refuse(order[i], "nothing says what stands for it");
        places += fmt::format("    {{{}, {}}},\n", equation_place[i], itself[i]);
    }
    body += "\nstruct place {\n    std::uint8_t index;  // among the 21\n    bool itself;\n};\n" +
            array_of("place", "places", order.size(), places);

    // Exponents, one row a term; components that share them share the rows.
    std::vector<std::size_t> first, count;
    std::string exponents;
    std::size_t terms = 0;
    for (auto const& row : member(table, "exponents", "table")) {
        auto const& d = member(row, "d", "exponents");
        auto const& t = member(row, "t", "exponents");
        auto const& c = member(row, "c", "exponents");
        if (t.size() != d.size() || c.size() != d.size())
            refuse("exponents", "d, t and c have different lengths");
        for (std::size_t k = 0; k < d.size(); ++k)
            exponents += fmt::format("    {{{}, {}, {}}},\n",
                                     digits(d[k], "exponents"),
                                     digits(t[k], "exponents"),
                                     digits(c[k], "exponents"));
        first.push_back(terms);
        count.push_back(d.size());
        terms += d.size();
    }
    body += "struct exponent {\n    std::uint8_t d;\n    double t;\n    std::uint8_t c;\n};\n" +
            array_of("exponent", "exponents", terms, exponents);

    std::string rows, coefficients;
    std::size_t n = 0;
    for (auto const& row : table.at("components")) {
        auto const name = row.at("name").get<std::string>();
        auto const family = member(row, "exponents", name).get<std::size_t>();
        if (family >= first.size()) refuse(name, "it has no exponents");
        coefficients += fmt::format(
            "    {},  // {}\n", joined_digits(member(row, "n", name), count[family], name), name);
        rows += fmt::format("    {{{}, {}, {}, {{{}}}, {{{}}}, {}, {}, {}}},  // {}\n",
                            positive(row, "molar_mass", name),
                            positive(row, "Tc", name),
                            positive(row, "rhoc", name),
                            joined_digits(member(row, "ideal_n", name), 7, name),
                            joined_digits(member(row, "ideal_theta", name), 4, name),
                            first[family],
                            n,
                            count[family],
                            name);
        n += count[family];
    }
    body +=
        "struct component {\n    double molar_mass;  // g/mol\n    double Tc;          // K\n    "
        "double rhoc;        // mol/dm3\n    std::array<double, 7> ideal_n;\n    "
        "std::array<double, 4> ideal_theta;  // K\n    std::uint16_t first_exponent, "
        "first_coefficient, terms;\n};\n" +
        array_of("component", "components", names.size(), rows) +
        array_of("double", "coefficients", n, coefficients);

    std::map<std::string, std::size_t> function;
    std::string functions, departures;
    std::size_t departure_terms = 0;
    for (auto const& row : member(table, "departure_functions", "table")) {
        auto const name = plain(member(row, "name", "departure"), "departure");
        auto const size = member(row, "n", name).size();
        if (!function.emplace(name, function.size()).second) refuse(name, "it stands twice");
        functions += fmt::format("    {{{}, {}}},  // {}\n", departure_terms, size, name);
        std::vector<std::string> columns(size);
        for (char const* key : {"n", "d", "t", "eta", "epsilon", "beta", "gamma"}) {
            auto const& list = member(row, key, name);
            if (list.size() != size) refuse(name, "its columns have different lengths");
            for (std::size_t k = 0; k < size; ++k)
                columns[k] += (columns[k].empty() ? "" : ", ") + digits(list[k], name);
        }
        for (auto const& c : columns) departures += fmt::format("    {{{}}},\n", c);
        departure_terms += size;
    }
    body +=
        "struct departure_term {\n    double n;\n    std::uint8_t d;\n    double t, eta, epsilon, "
        "beta, gamma;\n};\n" +
        array_of("departure_term", "departure_terms", departure_terms, departures) +
        "struct departure {\n    std::uint8_t first, terms;\n};\n" +
        array_of("departure", "departures", function.size(), functions);

    Pairs pairs(names);
    std::string binary;
    for (auto const& row : member(table, "binary", "table")) {
        auto const pair = pairs.of(row, 8);
        auto const used = plain(row[7], pair);
        if (!used.empty() && function.count(used) == 0) refuse(used, "there is no such function");
        if (used.empty() != (number(row[6], pair) == 0)) refuse(pair, "F contradicts the function");
        binary += fmt::format("    {{{}, {}, {}, {}, {}, {}, {}}},\n",
                              pair,
                              digits(row[2], pair),
                              digits(row[3], pair),
                              digits(row[4], pair),
                              digits(row[5], pair),
                              digits(row[6], pair),
                              used.empty() ? 255 : function.at(used));
    }
    if (pairs.count() != equation_components * (equation_components - 1) / 2)
        refuse("binary", "every pair is needed");
    body +=
        "struct pair {\n    std::uint8_t i, j;\n    double beta_v, gamma_v, beta_T, gamma_T, F;\n  "
        "  std::uint8_t departure;  // 255: none\n};\n" +
        array_of("pair", "pairs", pairs.count(), binary);
    return header("gerg", body);
}

std::string detail_header(Json const& table, Json const& gerg) {
    auto const names = names_of(table);
    if (names != names_of(gerg)) refuse("components", "the order is not that of GERG-2008");
    auto body = constants(table);
    std::string rows;
    for (auto const& row : table.at("components")) {
        auto const name = row.at("name").get<std::string>();
        auto numbers = positive(row, "molar_mass", name);
        for (char const* key : {"E", "K", "G", "Q", "F", "S", "W"})
            numbers += ", " + digits(member(row, key, name), name);
        rows += fmt::format("    {{{}}},  // {}\n", numbers, name);
    }
    body += "\nstruct component {\n    double molar_mass, E, K, G, Q, F, S, W;\n};\n" +
            array_of("component", "components", names.size(), rows);
    std::string terms;
    auto const& list = member(table, "terms", "table");
    for (std::size_t n = 0; n < list.size(); ++n) {
        auto const where = fmt::format("term {}", n + 1);
        if (!list[n].is_array() || list[n].size() != 11 ||
            number(list[n][0], where) != static_cast<double>(n + 1))
            refuse(where, "the terms are out of order");
        std::string numbers;
        for (std::size_t k = 1; k < 11; ++k)
            numbers += (k > 1 ? ", " : "") + digits(list[n][k], where);
        terms += fmt::format("    {{{}}},\n", numbers);
    }
    if (list.size() != 58) refuse("terms", "58 are needed");
    body +=
        "struct term {\n    double a;\n    std::uint8_t b, c, k;\n    double u;\n    std::uint8_t "
        "g, q, f, s, w;\n};\n" +
        array_of("term", "terms", list.size(), terms);
    Pairs pairs(names);
    std::string binary;
    for (auto const& row : member(table, "binary", "table")) {
        auto const pair = pairs.of(row, 6);
        binary += fmt::format("    {{{}, {}, {}, {}, {}}},\n",
                              pair,
                              digits(row[2], pair),
                              digits(row[3], pair),
                              digits(row[4], pair),
                              digits(row[5], pair));
    }
    body += "struct pair {\n    std::uint8_t i, j;\n    double E, U, K, G;\n};\n" +
            array_of("pair", "pairs", pairs.count(), binary);
    return header("detail", body);
}

std::string cubic_header(Json const& table,
                         Json const& interaction,
                         std::vector<std::string> const& order) {
    std::vector<std::string> rows(order.size(), "    {},\n");
    std::set<std::size_t> seen;
    for (auto const& row : member(table, "components", "table")) {
        auto const name = plain(member(row, "name", "components"), "components");
        auto const at = place_of(order, name, "components");
        if (!seen.insert(at).second) refuse(name, "it stands twice");
        if (plain(member(row, "source", name), name).empty()) refuse(name, "it has no source");
        rows[at] = fmt::format("    {{true, {}, {}, {}}},  // {}\n",
                               positive(row, "Tc", name),
                               positive(row, "pc", name),
                               digits(member(row, "omega", name), name),
                               name);
    }
    std::string all;
    for (auto const& row : rows) all += row;
    std::string body =
        "struct row {\n    bool listed = false;\n    double Tc = 0;  // K\n    double pc = 0;  // "
        "kPa\n    double omega = 0;\n};\n" +
        array_of("row", "components", rows.size(), all) +
        "struct pair {\n    std::uint8_t i, j;\n    double k;\n};\n";
    for (char const* equation : {"pr", "srk"}) {
        Pairs pairs(order);
        std::string list;
        for (auto const& row : member(interaction, equation, "interaction")) {
            auto const pair = pairs.of(row, 3);
            list += fmt::format("    {{{}, {}}},\n", pair, digits(row[2], pair));
        }
        body += array_of("pair", equation, pairs.count(), list);
    }
    return header("cubic", body);
}
