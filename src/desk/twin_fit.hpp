#pragma once
/// The twin fitted to runs that a visit keeps: what goes in, gathered before the work begins.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "desk/oven_retime.hpp"
#include "desk/twin_bench.hpp"
#include "store/store.hpp"

namespace gw::desk {

/// Which gas ran.
enum class FitGas {
    opened,     ///< the one the twin was opened with
    certified,  ///< what the visit's certificate says of the cylinder that ran
    unknown     ///< not known: responses hold the amounts too
};
Result<FitGas> fit_gas_of(std::string const& word);

struct TwinFitInputs {
    TwinMethod twin;
    std::vector<trace::Trace> runs;
    std::optional<std::vector<double>> amounts;
    std::vector<std::string> names;  ///< of the runs
    std::vector<std::string> warnings;
};

/// entries: of the visit, each one that kept a run as a trace; one gas and one state of the
/// analyser, for other things ran otherwise. Refuses printed reports, and `certified` where that
/// gas has no certificate in the visit.
Result<TwinFitInputs> twin_fit_inputs(TwinBench const& bench,
                                      store::Store const& store,
                                      std::string const& visit,
                                      std::vector<std::int64_t> const& entries,
                                      FitGas gas);

struct TwinFitDone {
    OvenFit fit;
    std::string method;  ///< the method file with the fitted values
};
Result<TwinFitDone> twin_fit(TwinFitInputs const& inputs, std::function<bool(double)> go_on);

}  // namespace gw::desk
