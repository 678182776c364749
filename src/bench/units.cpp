#include "bench/units.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/text.hpp"

namespace gw::bench {

namespace {

constexpr double atm = 101325, psi = 6894.757293168361, inch = 0.0254, foot = 0.3048;
constexpr double cubic_foot = foot * foot * foot, btu = 1055.05585262;

// Factors are exact by definition of the units (SI Brochure 9th ed.; NIST SP 811 App. B).
constexpr UnitRow rows[] = {
    {"Pa", Dimension::pressure, 1},
    {"kPa", Dimension::pressure, 1e3},
    {"MPa", Dimension::pressure, 1e6},
    {"bar", Dimension::pressure, 1e5},
    {"mbar", Dimension::pressure, 1e2},
    {"atm", Dimension::pressure, atm},
    {"psi", Dimension::pressure, psi},
    {"psia", Dimension::pressure, psi},
    {"kPag", Dimension::pressure, 1e3, 0, true},
    {"barg", Dimension::pressure, 1e5, 0, true},
    {"mbarg", Dimension::pressure, 1e2, 0, true},
    {"psig", Dimension::pressure, psi, 0, true},
    {"K", Dimension::temperature, 1},
    {"degC", Dimension::temperature, 1, 273.15},
    {"C", Dimension::temperature, 1, 273.15},
    {"degF", Dimension::temperature, 1 / 1.8, 459.67 / 1.8},
    {"F", Dimension::temperature, 1 / 1.8, 459.67 / 1.8},
    {"m3", Dimension::volume, 1},
    {"L", Dimension::volume, 1e-3},
    {"mL", Dimension::volume, 1e-6},
    {"cm3", Dimension::volume, 1e-6},
    {"uL", Dimension::volume, 1e-9},
    {"ft3", Dimension::volume, cubic_foot},
    {"in3", Dimension::volume, inch* inch* inch},
    {"m", Dimension::length, 1},
    {"cm", Dimension::length, 1e-2},
    {"mm", Dimension::length, 1e-3},
    {"ft", Dimension::length, foot},
    {"in", Dimension::length, inch},
    {"s", Dimension::time, 1},
    {"min", Dimension::time, 60},
    {"h", Dimension::time, 3600},
    {"d", Dimension::time, 86400},
    {"days", Dimension::time, 86400},
    {"weeks", Dimension::time, 7 * 86400},
    {"years", Dimension::time, 365 * 86400},
    {"m3/s", Dimension::flow, 1},
    {"m3/h", Dimension::flow, 1.0 / 3600},
    {"m3/d", Dimension::flow, 1.0 / 86400},
    {"L/s", Dimension::flow, 1e-3},
    {"L/min", Dimension::flow, 1e-3 / 60},
    {"L/h", Dimension::flow, 1e-3 / 3600},
    {"mL/min", Dimension::flow, 1e-6 / 60},
    {"cm3/min", Dimension::flow, 1e-6 / 60},
    {"ft3/h", Dimension::flow, cubic_foot / 3600},
    {"ft3/min", Dimension::flow, cubic_foot / 60},
    {"Pa m3/s", Dimension::leak_rate, 1},
    {"mbar L/s", Dimension::leak_rate, 0.1},
    {"mbar L/min", Dimension::leak_rate, 0.1 / 60},
    // Gas of the room's temperature at one atmosphere.
    {"cm3/min", Dimension::leak_rate, atm * 1e-6 / 60},
    {"mL/min", Dimension::leak_rate, atm * 1e-6 / 60},
    {"1", Dimension::fraction, 1},
    {"mol/mol", Dimension::fraction, 1},
    {"%", Dimension::fraction, 1e-2},
    {"mol%", Dimension::fraction, 1e-2},
    {"ppm", Dimension::fraction, 1e-6},
    {"J/m3", Dimension::energy, 1},
    {"MJ/m3", Dimension::energy, 1e6},
    {"kWh/m3", Dimension::energy, 3.6e6},
    {"Btu/ft3", Dimension::energy, btu / cubic_foot},
    {"1", Dimension::number, 1},
};

std::string bare(std::string_view name) {
    std::string out;
    for (char const c : name)
        if (c != ' ' && c != '.' && c != '*') out += c;
    return lowered(out);
}

std::optional<double> leading_number(std::string_view& text) {
    text = trimmed(text);
    for (std::size_t n = text.size(); n > 0; --n)
        if (auto const number = parse_number(text.substr(0, n))) {
            // "5e" and "5 " read as 5 too: only what ends in a digit or a point is a number.
            char const last = text[n - 1];
            if (last != '.' && (last < '0' || last > '9')) continue;
            text.remove_prefix(n);
            return number;
        }
    return std::nullopt;
}

bool take(std::string_view& text, std::string_view mark) {
    text = trimmed(text);
    if (text.substr(0, mark.size()) != mark) return false;
    text.remove_prefix(mark.size());
    return true;
}

}  // namespace

std::span<UnitRow const> unit_rows() { return rows; }

std::string_view name(Dimension dimension) {
    switch (dimension) {
        case Dimension::pressure:
            return "pressure";
        case Dimension::temperature:
            return "temperature";
        case Dimension::volume:
            return "volume";
        case Dimension::length:
            return "length";
        case Dimension::time:
            return "time";
        case Dimension::flow:
            return "flow";
        case Dimension::leak_rate:
            return "leak_rate";
        case Dimension::fraction:
            return "fraction";
        case Dimension::energy:
            return "energy";
        case Dimension::number:
            return "number";
    }
    return "number";
}

UnitRow const* find_unit(std::string_view name, Dimension dimension) {
    auto const wanted = bare(name);
    for (auto const& row : rows)
        if (row.dimension == dimension && bare(row.name) == wanted) return &row;
    return nullptr;
}

std::string unit_names(Dimension dimension) {
    std::vector<std::string> out;
    for (auto const& row : rows)
        if (row.dimension == dimension) out.emplace_back(row.name);
    return joined(out, ", ");
}

Result<WrittenQuantity> read_quantity(std::string_view text,
                                      Dimension dimension,
                                      std::string_view usual_unit,
                                      std::string const& where) {
    auto rest = trimmed(text);
    auto const wrong = [&](std::string what) {
        return fail(Errc::bad_input,
                    std::move(what),
                    where,
                    fmt::format("write it like \"50 +- 0.5 {}\"", usual_unit));
    };
    constexpr std::size_t longest = 200;
    if (rest.size() > longest) return wrong("This is too long for a quantity.");
    auto const value = leading_number(rest);
    if (!value) return wrong(fmt::format("\"{}\" begins with no number.", text.substr(0, 40)));
    double u = 0;
    if (take(rest, "+-") || take(rest, "±") || take(rest, "+/-")) {
        auto const stated = leading_number(rest);
        if (!stated || !(*stated >= 0))
            return wrong("After +- stands a standard uncertainty, zero or more.");
        u = *stated;
    }
    auto const unit = trimmed(rest);
    auto const* row = find_unit(unit.empty() ? usual_unit : unit, dimension);
    if (row == nullptr)
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no unit of this quantity.", unit.substr(0, 20)),
                    where,
                    "take one of " + unit_names(dimension));
    double const si = row->factor * *value + row->offset;
    if (!std::isfinite(si)) return wrong("This number is too large.");
    return WrittenQuantity{{si, row->factor * u}, row->gauge, std::string(trimmed(text))};
}

double in_unit(double si, std::string_view unit, Dimension dimension) {
    auto const* row = find_unit(unit, dimension);
    return row == nullptr ? si : (si - row->offset) / row->factor;
}

double u_in_unit(double u_si, std::string_view unit, Dimension dimension) {
    auto const* row = find_unit(unit, dimension);
    return row == nullptr ? u_si : u_si / row->factor;
}

}  // namespace gw::bench
