#pragma once
/// The use-case behind `gaswright cylinder check`: files in, findings out.
#include <optional>
#include <string>

#include "assay/cylinder_check.hpp"

namespace gw::desk {

struct CylinderCheckRequest {
    std::string cylinder;              ///< path
    std::string criteria = "custody";  ///< shipped name or path
    Date on;
    std::optional<Temperature> ambient;
};

struct CylinderReport {
    std::string heading;  ///< which cylinder, on which day, for which criteria
    assay::CylinderCheck check;
};

Result<CylinderReport> check_cylinder(CylinderCheckRequest const& request);

}  // namespace gw::desk
