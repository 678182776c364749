#pragma once
/// The use-cases behind `gaswright oven retime` and `gaswright oven fit`.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "desk/oven_simulate.hpp"

namespace gw::desk {

struct OvenRetimeRequest {
    std::string method, gas;
    std::vector<std::string> runs;      ///< the twin is first fitted to these
    std::optional<std::string> output;  ///< the method with the proposed programme
};

/// One integration window and where events may not fall, as typed into an analyser.
struct TypedPeak {
    gas::Component component;
    int detector{};
    double retention_s{}, on_s{}, off_s{};
};
struct TypedInhibit {
    std::string action;
    double from_s{}, to_s{};
};

struct OvenRetiming {
    oven::Retimed retimed;
    std::vector<TypedPeak> peaks;  ///< rounded to the method's time step
    std::vector<TypedInhibit> inhibits;
    double time_step_s{};
    std::optional<oven::Fitted> fitted;
    std::optional<double> timing_scatter_s;  ///< largest u of a determined event, from the runs
    std::vector<std::string> warnings;
    [[nodiscard]] bool clean() const;  ///< every event has a clean time
};

/// The same of a twin that is at hand: no file is read or written.
OvenRetiming retiming_of(assay::Method const& method,
                         oven::Oven const& oven,
                         std::vector<double> const& amounts);
/// The method file with the proposed programme and the retention times that come of it.
Result<std::string> retimed_method(TwinMethod const& twin, OvenRetiming const& done);

Result<OvenRetiming> oven_retime(OvenRetimeRequest const& request);
Json oven_retiming_json(OvenRetiming const& done);
std::string oven_retiming_text(OvenRetiming const& done);

struct OvenFitRequest {
    std::string method;
    std::vector<std::string> runs;
    std::optional<std::string> gas;  ///< none: composition by the method's own responses
    std::optional<std::string> output;
};
struct OvenFit {
    oven::Fitted fitted;
    std::vector<std::string> warnings;
};
Result<OvenFit> oven_fit(OvenFitRequest const& request);
/// The same of a twin that is at hand. amounts: of the gas that ran, in the twin's order; none: it
/// is not known, and responses hold the amounts too. go_on: as in oven::FitOptions.
Result<OvenFit> fit_of(TwinMethod const& twin,
                       std::optional<std::vector<double>> const& amounts,
                       std::vector<trace::Trace> const& runs,
                       std::function<bool(double)> go_on = {});
/// The method file with the fitted values; responses only where the gas was known.
Result<std::string> fitted_method(TwinMethod const& twin, OvenFit const& done, bool known_gas);
Json oven_fit_json(OvenFit const& done);
std::string oven_fit_text(OvenFit const& done);

/// The method file with another programme and, where given, another twin; all else as it stands.
Result<std::string> with_programme(TwinMethod const& twin, oven::Oven const& oven);

}  // namespace gw::desk
