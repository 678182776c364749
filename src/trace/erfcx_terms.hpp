#pragma once
/// exp(x^2) erfc(x) for x >= 0 as one polynomial: (1 + 2 x) times it, over s = (x - 15/4) / (x +
/// 15/4), which runs from -1 to 1. Method: Shepherd and Laframboise, Math. Comp. 36 (1981) 249.
/// Coefficients: the Chebyshev series to degree 23 worked out here in sixty digits and written in
/// powers of s; they add up to 1.8, so none cancels another. Right to 6e-16 of the value for all x.
#include <array>

namespace gw::trace {

inline constexpr double erfcx_middle = 3.75;
inline constexpr std::array<double, 24> erfcx_terms{
    1.23751263083782753,      -0.140240598585546962,    0.00358541548547902564,
    0.0822767384901452077,    -0.108803930142444613,    0.0923043211603774778,
    -0.0586933985766493384,   0.0283622774189564043,    -0.00974657968326526223,
    0.00175562585289529536,   0.00029371437804495803,   -0.000290154080540841711,
    0.0000516465297417741613, 0.0000223842391550822298, -0.0000114380480333468936,
    -9.73559896736774934e-7,  1.74198215862248159e-6,   -5.72182306032240875e-8,
    -2.48571262480167429e-7,  2.32635087088591237e-8,   3.19792667166680429e-8,
    -3.74421008096201864e-9,  -2.62310734713347576e-9,  3.1114333809799252e-10};

}  // namespace gw::trace
