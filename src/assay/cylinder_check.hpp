#pragma once
/// Is this cylinder what its certificate says, fit for use today, and good enough to decide the
/// limit?
#include <optional>
#include <string>
#include <vector>

#include "assay/cylinder.hpp"
#include "metrology/criteria.hpp"

namespace gw::assay {

struct CylinderCheckOptions {
    Date on;                             ///< the day the cylinder is to be used
    std::optional<Temperature> ambient;  ///< where it stands now
};

struct CylinderCheck {
    std::vector<metrology::Finding> findings;  ///< in the order of the contract
    metrology::Verdict verdict{};
    std::vector<std::string> warnings;
};

/// certificate_sum: mol%, printed total against 100 by what rounding alone allows: half of the last
///   printed digit times the square root of the number of amounts, the digit not below 1e-4 mol%.
/// certificate_cv: percent, printed calorific value over that recomputed by ISO 6976, minus one.
/// expiry: days left. pressure: kPa against the certificate's minimum, else 700 kPa.
/// cold_exposure: degC, the lower of coldest recorded and ambient against the lowest storage
/// temperature. can_decide: percent, 2 u of the calorific value from the certificate alone, against
/// the cv_bias limit
///   of the criteria: at most a third is right, at most the whole meets with a warning, more fails.
/// An entry of the criteria under one of these ids replaces the limit named here.
/// Fails when the calorific value cannot be computed at all.
Result<CylinderCheck> cylinder_check(Cylinder const& cylinder,
                                     metrology::CriteriaSet const& criteria,
                                     CylinderCheckOptions const& options);

}  // namespace gw::assay
