#include "desk/cylinder_check.hpp"

#include <fmt/format.h>

#include "desk/load.hpp"

namespace gw::desk {

Result<CylinderReport> check_cylinder(CylinderCheckRequest const& request) {
    GW_TRY(auto const cylinder, load_cylinder(request.cylinder));
    GW_TRY(auto const criteria, load_criteria(request.criteria));
    auto check = assay::cylinder_check(cylinder, criteria, {request.on, request.ambient});
    if (!check) {  // a sum that failed knows the gas, not the file
        auto error = std::move(check).error();
        error.where = error.where.empty() ? request.cylinder : request.cylinder + ":" + error.where;
        return pass_on(std::move(error));
    }
    CylinderReport out{fmt::format("Cylinder {} ({} gas) on {}, for {}",
                                   cylinder.serial,
                                   name(cylinder.role),
                                   to_text(request.on),
                                   criteria.name),
                       *std::move(check)};
    out.check.warnings.insert(
        out.check.warnings.end(), criteria.warnings.begin(), criteria.warnings.end());
    return out;
}

}  // namespace gw::desk
