#pragma once
/// The demonstration: one invented visit, told with the numbers that the program's own engines
/// give.
#include <string>
#include <vector>

#include "assay/calibration.hpp"
#include "assay/cylinder_check.hpp"
#include "desk/demo_scenario.hpp"
#include "visit/visit.hpp"

namespace gw::desk {

struct Demo {
    DemoScenario scenario;
    assay::Calibration calibration_as_found, calibration_as_left;
    assay::CylinderCheck cylinder_as_typed;
    std::string
        printed_report;  ///< what the analyser would have printed of its calibration, as CSV
    visit::Look look;
    visit::Proof as_found, as_left;
    double plates_as_found{}, plates_as_left{};  ///< 5.545 (t/w)^2 of n-butane, calibration runs
    double
        misstated_mwh_per_day{};  ///< true less reported, from the as-found bias on the proving gas
};

/// Generates the traces and runs the whole job on them.
Result<Demo> demo();

std::string demo_text(Demo const& demo);
Json demo_json(Demo const& demo);

/// Writes the scenario's files, traces, reports, calibrations and proofs into `folder` (made when
/// absent), for use with the other commands. Answers the names written.
Result<std::vector<std::string>> write_demo(Demo const& demo, std::string const& folder);

}  // namespace gw::desk
