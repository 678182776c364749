#pragma once
/// Ovens for tests, small enough for the slow model.
#include <string>

#include "base/file.hpp"
#include "base/json.hpp"
#include "oven/model.hpp"

namespace gw::oven {

inline Result<Oven> oven_of_text(std::string const& text, std::string const& name = "method.json") {
    GW_TRY(auto const document, parse_json(text, name));
    GW_TRY(auto const method, assay::read_method(document.root()));
    return read_oven(document.root(), method);
}

inline std::string file_text(std::string const& path) {
    return read_file(std::string(GW_SOURCE_DIR) + "/" + path).value();
}

/// One column of N plates, hold-up t0, gas of retention factor k; no cell lag.
inline Oven one_column(double plates, double t0, double k, double cycle_s) {
    Oven oven;
    oven.cycle_s = cycle_s;
    oven.rate_hz = 50;
    Column column;
    column.id = "A";
    column.length_m = 1;
    column.holdup_s = t0;
    column.plates = plates;
    oven.columns = {column};
    Detector detector;
    detector.scale = 100;
    detector.cell_tau_s = 0.1;
    oven.detectors = {detector};
    Chain chain;
    chain.id = "1";
    chain.injection = Injection{"inject", 0.25, 0.1};
    chain.detector = 0;
    oven.chains = {chain};
    Species species;
    species.component = species.reported_as = *gas::find_component("propane");
    species.k = {k};
    species.enthalpy_j_mol = {-17000};
    species.response = 100;
    oven.species = {species};
    oven.flags = {"reversed", "stored"};
    oven.actions = {{"inject", {}},
                    {"reverse", {{0, true}}},
                    {"store", {{1, true}}},
                    {"release", {{1, false}}}};
    auto const path = [](std::optional<bool> reversed, bool stored) {
        Path p;
        p.when = {reversed, stored};
        ChainPath way;
        if (!stored) way.passages = {{0, *reversed, 1}};
        p.chains = {way};
        return p;
    };
    oven.paths = {path(false, false), path(true, false), path(std::nullopt, true)};
    oven.programme = {{0, "inject"}};
    return oven;
}

}  // namespace gw::oven
