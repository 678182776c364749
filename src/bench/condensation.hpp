#pragma once
/// How warm a cylinder must be stored and a sample line kept so that nothing condenses. Dew points
/// by the cubic equations of src/gas.
#include <optional>
#include <string>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"
#include "gas/cubic.hpp"

namespace gw::bench {

/// What the two equations differ by is the honest uncertainty of a dew point here (common practice,
/// no source); u is half their difference, at least one kelvin.
struct DewPoint {
    Measured T;      ///< K
    double at_pa{};  ///< pressure of that dew point
};
/// The highest dew point at any pressure up to p: what a cylinder that is emptied, or a line that
/// is throttled, passes. None: the gas has none at such pressures. Fails for a pure gas, and where
/// the dew line cannot be traced.
Result<std::optional<DewPoint>> highest_dew_point(gas::Composition const& gas,
                                                  double p,
                                                  std::vector<std::string>& warnings);

struct StorageInputs {
    gas::Composition gas;
    Measured pressure;              ///< Pa, absolute: at filling, or as it is
    double margin_K = 10;           ///< above the dew point, common practice: 10 to 15 K
    std::optional<double> coldest;  ///< K: the lowest temperature it has seen
};
struct Storage {
    std::optional<DewPoint> dew;
    std::optional<Measured> least;   ///< K, with the margin
    std::optional<Measured> margin;  ///< K: coldest less dew point
    std::vector<std::string> warnings;
};
Result<Storage> least_storage_temperature(StorageInputs const& inputs);

struct LineInputs {
    gas::Composition gas;
    Measured pressure;     ///< Pa, absolute, the highest of the line
    Measured temperature;  ///< K, of its coldest part
    double margin_K = 17;  ///< API MPMS 14.1 (from memory): 17 K (30 degF); 28 K when estimated
    double water = 0;      ///< mol/mol, 0: not looked at
};
struct LineMargin {
    std::optional<DewPoint> dew;
    std::optional<Measured> margin;  ///< K: coldest part less highest dew point
    std::optional<double> water_dew_K, water_margin_K;
    std::vector<std::string> warnings;
};
Result<LineMargin> line_margin(LineInputs const& inputs);

}  // namespace gw::bench
