#include "visit/unit.hpp"

#include <array>

#include "base/text.hpp"

namespace gw::visit {

namespace {

struct Unit {
    std::string_view name, measures;
    double factor, offset = 0;  // of the first unit of the same kind: value * factor + offset
};

// Factors are exact by definition, psi and inch of mercury (NIST SP 811, appendix B) as printed.
constexpr std::array<Unit, 45> units = {{
    {"kPa", "absolute pressure", 1},
    {"Pa", "absolute pressure", 0.001},
    {"hPa", "absolute pressure", 0.1},
    {"MPa", "absolute pressure", 1000},
    {"bar", "absolute pressure", 100},
    {"mbar", "absolute pressure", 0.1},
    {"psi", "absolute pressure", 6.894757},
    {"psia", "absolute pressure", 6.894757},
    {"kPa gauge", "gauge pressure", 1},
    {"MPa gauge", "gauge pressure", 1000},
    {"bar gauge", "gauge pressure", 100},
    {"barg", "gauge pressure", 100},
    {"mbar gauge", "gauge pressure", 0.1},
    {"psig", "gauge pressure", 6.894757},
    {"degC", "temperature", 1},
    {"C", "temperature", 1},
    {"\xC2\xB0"
     "C",
     "temperature",
     1},
    {"K", "temperature", 1, -273.15},
    {"degF", "temperature", 1 / 1.8, -32 / 1.8},
    {"F", "temperature", 1 / 1.8, -32 / 1.8},
    {"s", "time", 1},
    {"min", "time", 60},
    {"h", "time", 3600},
    {"%LEL", "share of the lower explosive limit", 1},
    {"% LEL", "share of the lower explosive limit", 1},
    {"%", "share", 1},
    {"vol%", "share", 1},
    {"mol%", "share", 1},
    {"ppm", "share", 1e-4},
    {"mbar L/s", "leak rate", 1},
    {"mbar l/s", "leak rate", 1},
    {"Pa m3/s", "leak rate", 10},
    {"mL/min", "flow", 1},
    {"cm3/min", "flow", 1},
    {"L/min", "flow", 1000},
    {"V", "voltage", 1},
    {"mV", "voltage", 0.001},
    {"L", "volume", 1},
    {"mL", "volume", 0.001},
    {"rings", "count of rings", 1},
    {"count", "count of rings", 1},
    {"N m", "torque", 1},
    {"Nm", "torque", 1},
    {"turns", "count of turns", 1},
    {"runs", "count of runs", 1},
}};

Unit const* find(std::string_view name) {
    name = trimmed(name);
    for (auto const& unit : units)
        if (unit.name == name) return &unit;
    for (auto const& unit : units)
        if (lowered(unit.name) == lowered(name) && unit.name.size() > 1)
            return &unit;  // "kpa", but never s for S
    return nullptr;
}

}  // namespace

bool is_known_unit(std::string_view unit) { return find(unit) != nullptr; }

std::optional<double> converted(double value, std::string_view from, std::string_view to) {
    auto const *a = find(from), *b = find(to);
    if (a == nullptr || b == nullptr || a->measures != b->measures) return std::nullopt;
    if (a == b) return value;  // untouched: no digit is lost on the way
    return (value * a->factor + a->offset - b->offset) / b->factor;
}

std::optional<double> converted_difference(double value,
                                           std::string_view from,
                                           std::string_view to) {
    auto const *a = find(from), *b = find(to);
    if (a == nullptr || b == nullptr || a->measures != b->measures) return std::nullopt;
    return a == b ? value : value * a->factor / b->factor;
}

std::vector<std::string> units_like(std::string_view unit) {
    std::vector<std::string> out;
    if (auto const* like = find(unit))
        for (auto const& other : units)
            if (other.measures == like->measures) out.emplace_back(other.name);
    return out;
}

}  // namespace gw::visit
