#pragma once
/// The method: what the analyser expects of one run.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"
#include "trace/peaks.hpp"

namespace gw::assay {

/// A factor taken from another component's: factor = ratio x factor of `component`.
struct FactorFrom {
    gas::Component component;
    double ratio{};
    double u{};  ///< standard uncertainty of the ratio
};

struct ExpectedPeak {
    gas::Component component;
    double retention_s{};
    double window_s{};  ///< half width of the window around it
    int detector = 1;
    std::vector<gas::Component> includes;  ///< components that elute in this peak beside its own
    std::optional<FactorFrom> factor_from;
};

enum class Closure { normalise, methane_by_difference };

struct Method {
    std::string name;
    double cycle_s{};
    double sample_rate_hz{};
    std::vector<ExpectedPeak> peaks;  ///< in the order of the file
    std::vector<std::pair<gas::Component, double>>
        fixed;  ///< mol/mol, not measured but taken as present
    Closure closure = Closure::normalise;
    std::vector<trace::SignalEvent> valve_programme;  ///< in order of time
    std::optional<double> time_step_s;
    std::optional<std::pair<double, double>> noise_window_s;
    gas::Characterisation characterisation;       ///< of line gas; empty when not stated
    std::optional<double> range_low, range_high;  ///< of the detector, when `oven` states it
    std::string hash;                             ///< SHA-256 of the file

    [[nodiscard]] ExpectedPeak const* find(gas::Component component) const;
    /// The peak that a component of a gas elutes in: its own, else the one that includes it, else
    /// C6+ for carbon number six and more and for cyclopentane; none when nothing names it.
    [[nodiscard]] ExpectedPeak const* peak_of(gas::Component component) const;
    [[nodiscard]] int detectors() const;  ///< highest detector number expected
    [[nodiscard]] bool is_fixed(gas::Component component) const;
};

/// Parses a `method` file (contract section 1). Refuses unknown components, doubled peaks, a
/// component included twice, windows or times that are not positive or outside the cycle, events
/// out of order. `oven` is read for `reported_as` and detector ranges only; the twin reads the
/// rest.
Result<Method> read_method(Field const& root);

}  // namespace gw::assay
