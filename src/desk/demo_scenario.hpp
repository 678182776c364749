#pragma once
/// The invented scenario of the demonstration: its files, and the traces that its analyser would
/// give.
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "assay/cylinder.hpp"
#include "assay/method.hpp"
#include "oven/model.hpp"
#include "trace/signal.hpp"

namespace gw::desk {

/// How one oven module differs from the twin that the method file describes.
struct DemoModule {
    std::string serial;
    double flow = 1;                                     ///< of the stated flow
    std::vector<std::pair<std::string, double>> plates;  ///< by column, of the stated plates
    double scale{};  ///< detector, mV s per mol% at a relative molar response of 100
    std::vector<std::pair<std::string, double>> event_shift_s;       ///< by action
    double white_noise{}, flicker_noise{}, offset{}, drift_per_s{};  ///< mV, mV/s
};

/// What a valve does to the signal when it switches.
struct DemoKick {
    std::string action;
    double height{}, decay_s{}, step{};  ///< mV, s, mV
};

struct DemoScenario {
    std::string notice, site, analyser;
    Date date;
    double energy_mwh_per_day{};
    int days_since_last_good{};
    std::map<std::string, std::size_t> runs;        ///< how many of each kind
    std::map<std::string, gas::Composition> gases;  ///< what is really in them
    std::map<std::string, DemoModule> modules;      ///< "old", "new"
    std::vector<DemoKick> kicks;
    double injection_common_sd{}, injection_single_sd{};  ///< relative, of all peaks and of each
    std::uint64_t seed{};
    assay::Method method;
    oven::Oven oven;  ///< the twin of the method file
    assay::Cylinder calibration_as_typed, calibration, proving;
    std::vector<std::pair<std::string, std::string>>
        files;  ///< name and content of every shipped file

    /// One run of one module on one gas: the twin with what differs in that module, the scatter of
    /// injection, noise and kicks. Deterministic.
    [[nodiscard]] trace::Trace run(std::string const& module,
                                   std::string const& gas,
                                   std::size_t number) const;
};

/// Reads the files shipped inside the program.
Result<DemoScenario> demo_scenario();

}  // namespace gw::desk
