#pragma once
/// Peaks that show in neither a top nor a bend of their own: told by what the shapes of their
/// cluster leave over.
#include "trace/survey.hpp"

namespace gw::trace {

/// Adds peaks to clusters that the shapes of their peaks do not describe, where one more peak does.
/// Order by the Bayesian information criterion (Schwarz, Ann. Statist. 6 (1978) 461), and stricter:
/// the shape of real peaks is not exactly the fitted one, so one more peak always fits better. It
/// counts only where it stands well apart, is as wide as its neighbour, takes most of the misfit
/// away and stands far above what is left. raw: as recorded, for clipping. Answers whether any was
/// added.
bool add_hidden_peaks(Survey const& survey, Regions& regions, std::span<float const> raw);

}  // namespace gw::trace
