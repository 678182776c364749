#pragma once
/// Performance evaluation after ISO 10723:2012: the true response of every component from a set of
/// reference gases, the response the analyser assumes, and the errors this makes over very many
/// compositions of a range.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "gas/property_sums.hpp"
#include "metrology/finding.hpp"
#include "metrology/regression.hpp"

namespace gw::assay {

struct ReferenceGas {
    std::vector<Measured> percent;  ///< mol%, one per component of the range; 0 when absent
    std::vector<std::vector<double>> areas;  ///< one list of runs per component; empty: not seen
};

struct PerformanceSpec {
    std::vector<gas::Component> components;  ///< of the range, order of the file
    std::vector<double> low, high;           ///< mol/mol
    std::vector<ReferenceGas> gases;
    std::size_t calibration_gas = 0;
    std::vector<std::optional<std::size_t>> order;  ///< as asked for, per component
    std::array<std::optional<double>, gas::real_property_count>
        limit_percent;  ///< largest permissible error, relative, %
    gas::Reference reference;
    gas::Characterisation heavy_end;
    std::size_t compositions = 10000;  ///< ISO 10723:2012 uses this many
    std::uint64_t seed = 1;
    /// Standard uncertainty of an unseen curvature, relative, at e times the calibrated amount;
    /// used only where fewer than three gases show a component. Common practice, no source.
    double unseen_curvature = 0.005;
    std::vector<std::string> warnings;  ///< of the reading
};

/// Parses an `evaluation` file. Refuses a range that no gas can fill, a component without
/// responses, a calibration gas without a component of the range, an index that does not exist.
Result<PerformanceSpec> read_performance_spec(Field const& root);

/// How the scatter of one area grows with the area: s = value * area^power.
struct Scatter {
    double value = 0, power = 0;  ///< power 0, 1/2 or 1
    int degrees_of_freedom = 0;   ///< 0: no gas was run twice
    [[nodiscard]] double at(double area) const;
};
/// Of the three laws, the one under which the observed scatters are likeliest.
Scatter scatter_of(std::vector<std::vector<double>> const& areas);

struct ResponseFunction {
    gas::Component component{};
    metrology::ResponseFit fit;  ///< area over mol%
    std::size_t order = 1;
    bool through_zero = false;    ///< fewer than three gases: nothing shows an offset
    double chi_squared_limit{};   ///< 95 %
    bool fits = true;             ///< chi-squared within it
    double widened = 1;           ///< factor on u of the function where it does not fit
    double unseen_curvature = 0;  ///< of a reduced evaluation; see PerformanceSpec
    double lowest{}, highest{};   ///< mol%, amounts that the gases cover
    std::size_t gases = 0;
    Scatter scatter;
};

/// The lowest order that passes the test of fit (orders need 3, 5 and 7 gases, ISO 6143), or the
/// order asked for. Fewer than three gases: through zero, and a straight line only where that does
/// not fit.
Result<ResponseFunction> response_function(PerformanceSpec const& spec, std::size_t component);

struct ErrorSummary {
    double mean{};     ///< indicated less true
    double largest{};  ///< the one furthest from zero, with its sign
    double u{};        ///< root mean square of the standard uncertainties of the errors
    std::optional<double> share_inside;  ///< |error| + 2 u within the limit, 0 to 1
};

struct CalibrationGasScore {
    std::vector<double> x;                    ///< mol/mol
    double rms_percent{}, largest_percent{};  ///< of the calorific value over the range
};

struct Performance {
    std::vector<ResponseFunction> functions;
    std::vector<ErrorSummary> components;                           ///< mol%
    std::array<ErrorSummary, gas::real_property_count> properties;  ///< %
    std::vector<double> worst;  ///< mol/mol: composition of the largest calorific value error
    std::vector<CalibrationGasScore> by_reference_gas;  ///< each gas as calibration gas
    std::size_t best_reference_gas{};
    CalibrationGasScore best_calibration_gas;  ///< any composition of the range
    std::vector<std::vector<double>> design;   ///< mol/mol: reference gases that would show a cubic
    bool reduced = false;                      ///< too few gases for what the standard asks
    std::vector<std::string> warnings;
};

/// Errors of the normalised composition and of the properties over random compositions, uniform
/// inside the range. u of each error: scatter of one run, certificate of the calibration gas, and
/// the function (ratio of its values at the gas and at the calibration gas), carried through
/// normalisation and property to first order. The answer depends on the seed, never on threads.
/// Cost: about 1.5 microseconds a composition of eleven components.
Result<Performance> evaluate_performance(PerformanceSpec const& spec, unsigned threads = 0);

/// One composition alone: amounts (mol/mol, summing to one) to errors in mol% and percent.
struct PerformanceAt {
    std::vector<double> error, u;  ///< mol%
    std::array<double, gas::real_property_count> error_percent{}, u_percent{};
};
Result<PerformanceAt> performance_at(PerformanceSpec const& spec,
                                     std::vector<ResponseFunction> const& functions,
                                     std::vector<double> const& x);

/// Of the limits given: fails where an error leaves its limit, unclear where an error with its
/// uncertainty may, or a response function does not fit; meets when every composition is inside;
/// no_limit without a limit.
metrology::Verdict performance_verdict(PerformanceSpec const& spec, Performance const& performance);

/// The error of the calorific value over two components of the range, the others at the middle of
/// theirs, the most plentiful taking what is left.
struct PerformanceMap {
    std::size_t across{}, up{}, rest{};  ///< components of the spec
    std::vector<double> x, y;            ///< mol/mol, the middles of the cells
    std::vector<double> error_percent;   ///< row by row; NaN where the rest leaves its range
    double largest{};                    ///< |error| of the map
};
/// Without names: the two components of the widest ranges beside the most plentiful. Fails when the
/// range has fewer than three components.
Result<PerformanceMap> performance_map(PerformanceSpec const& spec,
                                       Performance const& performance,
                                       std::vector<std::string> const& axes = {},
                                       std::size_t cells = 41);

Json performance_json(PerformanceSpec const& spec, Performance const& performance);
std::string performance_text(PerformanceSpec const& spec, Performance const& performance);

}  // namespace gw::assay
