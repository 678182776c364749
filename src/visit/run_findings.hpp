#pragma once
/// One run alone: what it says before the series it belongs to is complete.
#include <vector>

#include "visit/prove.hpp"

namespace gw::visit {

/// One finding for each of proof.runs, in their order. A run on a certified gas: the departure of
/// its calorific value from the certified one, percent, judged as the series is (proving gas:
/// cv_bias, calibration gas: cv_self_check). A run on line gas: its calorific value, MJ/m3, without
/// limit, for nothing certifies it. u of one run: with b and u_b the bias of the mean of n runs and
/// its uncertainty, s their scatter, the part that all runs share is u_c^2 = u_b^2 - s^2 / n, and
/// of one run u^2 = u_c^2 + s^2 (GUM 4.2, 5.1.2). s has n - 1 degrees of freedom. A series without
/// u gives runs without.
std::vector<metrology::Finding> run_findings(Proof const& proof,
                                             metrology::CriteriaSet const& criteria);

}  // namespace gw::visit
