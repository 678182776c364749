#pragma once
/// The units people write, at the edge: SI inside.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

enum class Dimension {
    pressure,     ///< Pa
    temperature,  ///< K
    volume,       ///< m3
    length,       ///< m
    time,         ///< s
    flow,         ///< m3/s
    leak_rate,    ///< Pa m3/s
    fraction,     ///< 1
    energy,       ///< J/m3: calorific value by volume
    number        ///< 1
};

struct UnitRow {
    std::string_view name;
    Dimension dimension;
    double factor;  ///< SI = factor * value + offset
    double offset = 0;
    bool gauge = false;  ///< above ambient
};
/// "kPa", "barg", "degF", "ft3", "mbar L/s", ...: blanks, dots and case of the letters aside (but
/// for mPa and MPa, which are not told apart by case: MPa is meant).
UnitRow const* find_unit(std::string_view name, Dimension dimension);
/// All of them; those of one dimension stand together.
std::span<UnitRow const> unit_rows();
std::string_view name(Dimension dimension);
/// The names of a dimension, for messages.
std::string unit_names(Dimension dimension);

struct WrittenQuantity {
    Measured si;
    bool gauge = false;
    std::string text;  ///< as written, for the answer
};
/// "50 mL", "50 +- 0.5 mL", "50±0.5mL", "50": value, standard uncertainty, unit (else
/// `usual_unit`). `where`: option or field, for the error.
Result<WrittenQuantity> read_quantity(std::string_view text,
                                      Dimension dimension,
                                      std::string_view usual_unit,
                                      std::string const& where);
/// An SI value in a unit of the table.
double in_unit(double si, std::string_view unit, Dimension dimension);
double u_in_unit(double u_si, std::string_view unit, Dimension dimension);

}  // namespace gw::bench
