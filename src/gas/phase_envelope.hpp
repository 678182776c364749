#pragma once
/// Where a gas begins to condense: the phase envelope by a cubic equation, traced by continuation
/// from the low-pressure dew point over cricondentherm, cricondenbar and critical point to the
/// bubble line. Method: M. L. Michelsen, Fluid Phase Equilibria 4 (1980) 1.
#include <optional>
#include <string_view>
#include <vector>

#include "gas/cubic.hpp"

namespace gw::gas {

struct PhasePoint {
    double T{};  ///< K
    double p{};  ///< Pa
};

enum class EnvelopeEnd {
    closed,        ///< the bubble line came down to the pressure it began with, or to 50 K
    open,          ///< the line left through 100 MPa: light gases have no cricondenbar
    stopped,       ///< no more of the line was asked for: see EnvelopeOptions
    three_phases,  ///< cold, the gas drops two liquids: there the dew line ends
    lost           ///< the continuation could not go on; what was traced stands
};
std::string_view name(EnvelopeEnd end);

class PhaseEnvelope;
struct EnvelopeOptions {
    double start_p = 10e3;  ///< Pa; the lowest pressure of the dew line
    int most_points = 400;
    /// Pa: only the dew line is traced, and only until it comes down through this pressure.
    std::optional<double> only_dew_line_down_to;
};

/// One component alone has its vapour pressure line, up to its critical point. Fails with
/// out_of_range when no dew point is found at start_p.
Result<PhaseEnvelope> phase_envelope(CubicMixture const& mixture,
                                     std::span<double const> z,
                                     EnvelopeOptions const& options = {});

class PhaseEnvelope {
  public:
    struct Point {
        PhasePoint at;
        bool dew = true;         ///< false: bubble line, beyond the critical point
        std::vector<double> X;   ///< ln K of each component, ln T, ln p
        std::vector<double> dX;  ///< along the line, per unit of X[spec]
        std::size_t spec{};      ///< the variable that was fixed to find it
        bool joined = true;      ///< with the point before, by one line
    };
    [[nodiscard]] std::vector<Point> const& points() const { return points_; }
    [[nodiscard]] std::optional<PhasePoint> const& cricondentherm() const {
        return cricondentherm_;
    }
    [[nodiscard]] std::optional<PhasePoint> const& cricondenbar() const { return cricondenbar_; }
    [[nodiscard]] std::optional<PhasePoint> const& critical() const { return critical_; }
    [[nodiscard]] EnvelopeEnd end() const { return end_; }

    /// Temperatures on the dew line at this pressure, Pa, highest first: two between the critical
    /// pressure and the cricondenbar, where condensation is retrograde.
    [[nodiscard]] std::vector<double> dew_temperatures(double p) const;
    [[nodiscard]] std::vector<Point> dew_points(double p) const;  ///< the same with all there is

    /// The highest temperature at which this gas condenses at any pressure up to p, Pa: what a
    /// cylinder that is emptied, or a line whose pressure swings, must stay above. None when there
    /// is no dew point at such pressures.
    [[nodiscard]] std::optional<PhasePoint> highest_dew_point(double p) const;

  private:
    friend Result<PhaseEnvelope> phase_envelope(CubicMixture const&,
                                                std::span<double const>,
                                                EnvelopeOptions const&);
    PhaseEnvelope(CubicMixture const& mixture, std::span<double const> z)
        : mixture_(mixture), z_(z.begin(), z.end()) {}
    void trace_vapour_pressure(EnvelopeOptions const& options);
    void find_extremes();
    void cut_at_three_phases(EnvelopeOptions const& options);
    [[nodiscard]] bool feed_is_stable(Point const& at) const;

    CubicMixture mixture_;
    std::vector<double> z_;
    std::vector<Point> points_;
    std::optional<PhasePoint> cricondentherm_, cricondenbar_, critical_;
    EnvelopeEnd end_ = EnvelopeEnd::lost;
};

/// Dew points at one pressure, Pa, highest temperature first, without the rest of the line. Cost: a
/// tenth of a whole envelope.
Result<std::vector<PhaseEnvelope::Point>> dew_points(CubicMixture const& mixture,
                                                     std::span<double const> z,
                                                     double p);

/// The dew point at p, Pa, next to a known one: of the same gas at another pressure, or of a gas of
/// the same components that is a little different. None when it does not settle. Cost: a few steps
/// of Newton's method. Near the critical point or the cricondenbar, ask dew_points.
std::optional<PhaseEnvelope::Point> dew_point_near(CubicMixture const& mixture,
                                                   std::span<double const> z,
                                                   double p,
                                                   PhaseEnvelope::Point const& known);

}  // namespace gw::gas
