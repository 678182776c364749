#pragma once
/// The exponentially modified Gaussian: the shape of a peak that has a mixing volume behind it.
/// Source: Grushka, Anal. Chem. 44 (1972) 1733; forms stable in every regime as in Delley, Anal.
/// Chem. 57 (1985) 388.
#include <array>

namespace gw::trace {

/// exp(x^2) erfc(x), without overflow for large x and with full accuracy.
double erfcx(double x);

/// A Gaussian (centre mu, standard deviation sigma) convolved with an exponential decay of time
/// constant tau. Area in unit x s, times in s. sigma > 0, tau >= 0.
struct Emg {
    double area{}, mu{}, sigma{1}, tau{};
};

double value(Emg const& peak, double t);
/// Area to the left of t: everything from minus infinity.
double area_before(Emg const& peak, double t);

/// Value and derivatives with respect to area, mu, sigma and tau. tau at least 1e-3 sigma.
struct EmgDerivatives {
    double value{};
    std::array<double, 4> d{};
};
EmgDerivatives derivatives(Emg const& peak, double t);

}  // namespace gw::trace
