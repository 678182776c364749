#pragma once
/// The invented scenario of the demonstration: its files, and the traces that its analyser would
/// give.
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "assay/cylinder.hpp"
#include "assay/method.hpp"
#include "trace/signal.hpp"

namespace gw::desk {

struct DemoModule {
    std::string serial;
    struct Detector {
        double scale{};  ///< mV s per mol% at a relative molar response of 100
        double tail{};   ///< tau / sigma of its peaks
        double white_noise{}, flicker_noise{}, offset{}, drift_per_s{};  ///< mV, mV/s
    };
    std::vector<Detector> detectors;
    double stretch = 1;  ///< of all retention times
    std::vector<std::pair<gas::Component, double>>
        lost_into_c6_plus;  ///< share that an early valve event sends there
};

struct DemoScenario {
    std::string notice, site, analyser;
    Date date;
    double energy_mwh_per_day{};
    int days_since_last_good{};
    std::map<std::string, std::size_t> runs;        ///< how many of each kind
    std::map<std::string, gas::Composition> gases;  ///< what is really in them
    std::map<std::string, DemoModule> modules;      ///< "old", "new"
    assay::Method method;
    assay::Cylinder calibration_as_typed, calibration, proving;
    std::vector<std::pair<std::string, std::string>>
        files;  ///< name and content of every shipped file

    /// One run of one module on one gas. Deterministic.
    [[nodiscard]] trace::Trace run(std::string const& module,
                                   std::string const& gas,
                                   std::size_t number) const;

  private:
    friend Result<DemoScenario> demo_scenario();
    std::string scenario_text_;
};

/// Reads the files shipped inside the program.
Result<DemoScenario> demo_scenario();

}  // namespace gw::desk
