#pragma once
/// The use-case behind `gaswright gas compare`: one gas under every standard and base side by side,
/// because mismatched bases are a classic fault of billing.
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/reference.hpp"

namespace gw::desk {

struct GasComparisonRow {
    gas::Reference reference;
    bool saturated = false;    ///< US units only: volume of gas saturated with water
    Measured gross_cv_volume;  ///< in gas::cv_unit(reference)
    Measured gross_wobbe;      ///< same unit
    Measured relative_density;
    Measured density;  ///< kg/m3 or lb/ft3; not given for saturated gas
    double
        cv_mj_per_m3{};    ///< the same calorific value in MJ per cubic metre of its own conditions
    double percent_off{};  ///< of the first row
};
struct GasComparison {
    std::vector<GasComparisonRow> rows;  ///< the first is ISO 6976 at 15/15 degC
    std::vector<std::string> warnings;
};
/// ISO 6976 at the usual pairs of combustion and metering temperature, GPA 2172
/// at 14.65, 14.696, 14.73 and 15.025 psia dry and saturated (common practice, no source).
Result<GasComparison> gas_compare(std::string const& path, bool normalise);

Json gas_comparison_json(GasComparison const& comparison);
std::string gas_comparison_text(GasComparison const& comparison);

}  // namespace gw::desk
