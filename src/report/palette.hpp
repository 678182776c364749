#pragma once
/// Paper and ink with one accent. Every colour here differs from the others in lightness too, and
/// nothing is told by colour alone: a page copied in grey says the same.
#include "report/canvas.hpp"

namespace gw::report {

inline constexpr Ink ink{0.09, 0.13, 0.15};
inline constexpr Ink soft{0.34, 0.39, 0.41};
inline constexpr Ink hair{0.80, 0.79, 0.75};
inline constexpr Ink wash{0.955, 0.95, 0.93};
inline constexpr Ink sheet{1, 1, 1};
inline constexpr Ink accent{0.04, 0.34, 0.44};
inline constexpr Ink alarm{0.66, 0.16, 0.08};
inline constexpr Ink doubt{0.56, 0.38, 0.02};
inline constexpr Ink peak_tint{0.66, 0.80, 0.84};  ///< every other peak: neighbours differ
inline constexpr Ink peak_tint_other{0.84, 0.86, 0.80};

}  // namespace gw::report
