#pragma once
/// Gas on its way between two places: how much of one component has passed, against time.
#include <vector>

namespace gw::oven {

/// Below this share of one injection a band is over: far under what any detector sees.
inline constexpr double negligible = 1e-12;

/// Amount that has passed since `begin`, known every `step` and at `end`; between them cubic.
struct Curve {
    double begin{}, step{}, end{};
    std::vector<double> at;  ///< at[k]: passed until begin + k step; at[0] = 0
    double total{};          ///< passed until `end`
    double from{},
        until{-1e300};  ///< nothing passes before and after; until < from: nothing at all

    [[nodiscard]] bool nothing() const { return until < from; }
    /// t: s, from begin to end.
    [[nodiscard]] double passed(double t) const;
    /// Sets from and until by what passed.
    void find_support();
};

/// A unit amount per injection: a rectangle through a first-order lag.
struct LoopRelease {
    std::vector<double> starts;  ///< s
    double pulse_s{}, lag_s{};

    [[nodiscard]] double passed(double t) const;
    [[nodiscard]] double settled_after() const;  ///< s: nothing comes later than this past a start
};

/// What flows into a column: from the loop or from the column before.
class Inflow {
  public:
    explicit Inflow(LoopRelease const& loop, double begin, double end);
    explicit Inflow(Curve const& curve) : curve_(&curve), from_(curve.from), until_(curve.until) {}
    [[nodiscard]] double passed(double t) const {
        return curve_ != nullptr ? curve_->passed(t) : loop_->passed(t);
    }
    [[nodiscard]] double from() const { return from_; }
    [[nodiscard]] double until() const { return until_; }
    [[nodiscard]] bool nothing() const { return until_ < from_; }

  private:
    Curve const* curve_ = nullptr;
    LoopRelease const* loop_ = nullptr;
    double from_{1}, until_{-1};
};

}  // namespace gw::oven
