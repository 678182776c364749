#pragma once
/// The twin's parameters from the analyser's own traces: least squares on the signal, with what is
/// known beforehand as priors, and a plain statement of what the traces could not determine.
#include <functional>
#include <string>
#include <vector>

#include "oven/simulate.hpp"
#include "trace/signal.hpp"

namespace gw::oven {

struct FitOptions {
    // Standard deviations of what is known before the run is seen; common practice, no source.
    double flow = 0.05;        ///< relative, of every chain's flow
    double temperature_k = 3;  ///< of the oven
    double plates = 0.3;       ///< relative (of the logarithm), of every column
    double retention = 0.01;   ///< relative (of the logarithm), of every peak's retention factors
    double event_s = 3;        ///< of every event but the injection
    double dead_time_s = 0.3;  ///< of the clock's zero against the injection
    double response = 0.3;     ///< relative, of every peak's area
    double model = 0.003;      ///< relative to the signal: what no parameter can mend
    double noise = 0;          ///< detector unit; 0: taken from the trace
    /// A parameter counts as determined when the run narrows its prior to less than this share.
    double determined_below = 0.5;
    /// The signal is first blurred by so many seconds, then less: a wide catch before a sharp one.
    std::vector<double> blur_s = {6, 2, 0.6, 0};
    int steps = 12;  ///< of Gauss-Newton with damping, at each blur
    /// Told before each step how far it is, 0 to 1; false: give up. None: nobody is told.
    std::function<bool(double share)> go_on = {};
};

struct FittedParameter {
    std::string
        name;  ///< "flow", "temperature", "event:reverse A", "plates:B", "response:propane" ...
    std::string unit;
    double value{};
    double u{};
    double prior_value{}, prior_u{};
    bool determined = false;
};

struct Fitted {
    std::vector<FittedParameter> parameters;
    double residual_rms{};           ///< detector unit, over all samples of all runs
    std::string stopped;             ///< why
    Oven oven;                       ///< with the fitted parameters
    std::vector<std::string> notes;  ///< combinations that the run fixes where their parts are not
    int simulations{};
};

/// runs: at least one; each must have as many detectors as the oven. amounts: of the gas that was
/// run. Fails when a trace does not fit the oven, and with conflict when it was told to give up.
Result<Fitted> fit(Oven const& oven,
                   std::vector<double> const& amounts,
                   std::vector<trace::Trace> const& runs,
                   FitOptions const& options = {});

}  // namespace gw::oven
