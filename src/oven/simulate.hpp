#pragma once
/// One run of the oven: what every detector sees, and where every component went.
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "gas/composition.hpp"
#include "oven/model.hpp"
#include "trace/signal.hpp"

namespace gw::oven {

struct SimulateOptions {
    /// 1: twelve cells to the standard deviation of a band that has crossed its column, more for
    /// what is strongly held. Twice as fine costs about four times the time; docs/oven.md shows
    /// what it changes.
    double fineness = 1;
    /// Called at the end of every stretch between two events and every `snapshot_s` within: cells
    /// of every column for one species (for drawing). Empty: not called.
    std::function<void(
        double t, std::size_t species, std::size_t column, std::vector<double> const&)>
        snapshot;
    double snapshot_s = 0;
};

/// What one reported peak adds to one detector.
struct PeakSignal {
    gas::Component reported_as;
    std::size_t detector{};
    std::vector<double> signal;  ///< detector unit, at i/rate
    double area{};               ///< unit s, of all that reached the detector within the cycle
};

/// Where one component went, as shares of what was injected (1 for each injection).
struct Balance {
    gas::Component component;
    double injected{}, detected{}, vented{}, stored{};
    [[nodiscard]] double imbalance() const { return injected - detected - vented - stored; }
};

struct Simulated {
    double interval_s{};
    std::size_t samples{};
    std::vector<PeakSignal> peaks;  ///< in the order the components stand in the file
    std::vector<Balance> balance;   ///< one per species of the oven
    [[nodiscard]] std::vector<double> total(std::size_t detector) const;
};

/// amounts: mole fraction of each species of the oven, in its order.
Simulated simulate(Oven const& oven,
                   std::vector<double> const& amounts,
                   SimulateOptions const& options = {});

class Run;

/// A run carried to a moment once, and from there under many programmes that differ only later.
class Checkpoint {
  public:
    Checkpoint(Oven const& oven,
               std::vector<double> const& amounts,
               double at_s,
               SimulateOptions const& options = {});
    [[nodiscard]] double at_s() const { return at_s_; }
    /// oven: the same but for events after `at_s`.
    [[nodiscard]] Simulated resume(Oven const& oven) const;

  private:
    Oven oven_;
    double at_s_;
    std::shared_ptr<Run const> run_;
};

/// The gas in the order of the oven's species; C6+ is split by the gas's own characterisation, else
/// by `split`. Refuses, by name, a component of which the oven knows nothing, the carrier excepted.
Result<std::vector<double>> amounts_of(gas::Composition const& gas,
                                       Oven const& oven,
                                       gas::Characterisation const& split);

struct NoiseOptions {
    double white{};  ///< detector unit, standard deviation of each sample; 0: no noise, drift, kick
    std::uint64_t seed = 1;
};
/// The run as the analyser would record it: noise, drift and kicks if asked for, then clipping.
trace::Trace as_trace(Oven const& oven, Simulated const& run, NoiseOptions const& noise = {});

/// Highest point of a signal, between samples by a parabola through logarithms; none when flat.
struct Apex {
    double at_s{}, height{}, width_half_s{};
};
Apex apex(std::vector<double> const& signal, double interval_s);

}  // namespace gw::oven
