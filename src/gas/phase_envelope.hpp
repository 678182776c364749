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
    closed,  ///< the bubble line came down to the pressure it began with, or to 50 K
    open,    ///< the line left through 100 MPa: light gases have no cricondenbar
    lost     ///< the continuation could not go on; what was traced stands
};
std::string_view name(EnvelopeEnd end);

class PhaseEnvelope;
struct EnvelopeOptions {
    double start_p = 10e3;  ///< Pa; the lowest pressure of the dew line
    int most_points = 600;
};

/// Fails with bad_input for a pure fluid (its envelope is its vapour pressure line), and with
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

  private:
    friend Result<PhaseEnvelope> phase_envelope(CubicMixture const&,
                                                std::span<double const>,
                                                EnvelopeOptions const&);
    PhaseEnvelope(CubicMixture const& mixture, std::span<double const> z)
        : mixture_(mixture), z_(z.begin(), z.end()) {}
    void find_extremes();

    CubicMixture mixture_;
    std::vector<double> z_;
    std::vector<Point> points_;
    std::optional<PhasePoint> cricondentherm_, cricondenbar_, critical_;
    EnvelopeEnd end_ = EnvelopeEnd::lost;
};

}  // namespace gw::gas
