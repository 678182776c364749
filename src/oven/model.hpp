#pragma once
/// The oven as the method file describes it: columns, chains, valve actions and the paths they
/// open. Plain values in SI; nothing here is wired to one layout.
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "assay/method.hpp"
#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/component.hpp"

namespace gw::oven {

struct Column {
    std::string id;
    double length_m{};           ///< 0: not stated
    double inner_diameter_m{};   ///< 0: not stated
    double particle_m{};         ///< 0: not stated
    double porosity = 0.7;       ///< total, support pores included
    double interparticle = 0.4;  ///< what the gas flows through; reference value, range 0.38-0.42
    double holdup_s{};           ///< of an unretained gas at the stated flow; 0: not stated
    double plates{};             ///< N: D = H u/2 for every component, so N = L/H exactly
    double stored_diffusion_m2_s = 0;  ///< of the gas in the packing while sealed
};

struct Carrier {
    std::string gas = "He";
    double viscosity_pa_s{};         ///< 0: not stated
    double inlet_pa{}, outlet_pa{};  ///< absolute; 0: not stated
};

/// A unit rectangle `pulse_s` long through a first-order lag `loop_tau_s`, from the event on.
struct Injection {
    std::string on_action;
    double pulse_s{}, loop_tau_s{};
};

struct Detector {
    std::string unit = "mV";
    double cell_tau_s{};
    double scale{};                     ///< unit s per mol% at relative molar response 100
    double low = -1e30, high = 1e30;    ///< clipping, unit
    double saturation{};                ///< unit: y/(1 + y/saturation); 0: straight
    double flicker{}, drift_per_s{};    ///< unit, unit/s; only with noise asked for
    double kick{}, kick_decay_s = 0.3;  ///< unit: of every valve event; only with noise
};

struct Chain {
    std::string id;
    Carrier carrier;
    std::optional<Injection> injection;   ///< none: carrier only
    std::optional<std::size_t> detector;  ///< chains with the same number add at one detector
};

struct Species {
    gas::Component component;
    gas::Component reported_as;          ///< the peak it counts into
    std::vector<double> k;               ///< retention factor by column, at the oven's temperature
    std::vector<double> enthalpy_j_mol;  ///< of transfer, negative, by column (van 't Hoff)
    double response{};                   ///< relative molar response, benzene = 100
};

struct Passage {
    std::size_t column{};
    bool backward = false;
    double holdup_factor = 1;  ///< of a stated hold-up; a computed one needs none
};
struct ChainPath {
    std::vector<Passage> passages;  ///< in the order the gas takes them; may be empty
    bool to_detector = true;        ///< false: vent
};
struct Path {
    std::vector<std::optional<bool>> when;         ///< by flag; none: either
    std::vector<std::optional<ChainPath>> chains;  ///< by chain; none: it stands still
};

struct Action {
    std::string name;
    std::vector<std::pair<std::size_t, bool>> sets;
};

struct Event {
    double at_s{};
    std::string action;
};

struct Oven {
    double cycle_s{}, rate_hz{};
    double temperature_k = 353.15;
    bool computed_flow = false;
    std::vector<Chain> chains;
    std::vector<Detector> detectors;
    std::vector<Column> columns;
    std::vector<Species> species;
    std::vector<std::string> flags;
    std::vector<Action> actions;
    std::vector<Path> paths;
    std::vector<Event> programme;  ///< in order of time

    // What a fault changes; a sound oven leaves them alone.
    double response_factor = 1;  ///< of every area
    double amount_factor = 1;    ///< of what the loop injects
    double leak_across = 0;      ///< share of the injected gas that skips the columns

    /// The path for a setting of the flags; none when the file has none.
    [[nodiscard]] Path const* path_of(std::vector<bool> const& setting) const;
    [[nodiscard]] Action const* action(std::string const& name) const;
    [[nodiscard]] bool injects(std::string const& action) const;
};

/// Reads the `oven` block of a method file (contract section 1) whose other parts `method` holds.
/// root: the whole file. Refuses what cannot be simulated: a column without length, hold-up or
/// plates; an action, column, chain or flag that does not exist; a column no path passes; one that
/// two chains pass at once; a setting of the flags that the programme reaches and no path covers;
/// a chain whose injection no event starts.
Result<Oven> read_oven(Field const& root, assay::Method const& method);

/// Hold-up time of every passage of a path, s, by chain, then in the order of the passages.
/// Stated: the column's hold-up times the passage's factor. Computed: from the pressures, by
/// Darcy's and Boyle's law (see holdup.cpp).
std::vector<std::vector<double>> holdups(Oven const& oven, Path const& path);

/// Helium, Pa s; range 270 to 450 K, within 1 % (common power law, value from memory).
double helium_viscosity(double temperature_k);
/// Kozeny-Carman permeability of a packing, m2: dp^2 e^3 / (180 (1 - e)^2).
double packing_permeability(double particle_m, double interparticle_porosity);
/// The James-Martin factor j = 3/2 (P^2 - 1)/(P^3 - 1) with P = p_in/p_out, P - 1 cancelled so that
/// P = 1 needs no special case. Source: James and Martin 1952; IUPAC Gold Book P04821.
double compressibility_correction(double pressure_ratio);

/// Retention factor of a species in a column at another temperature: van 't Hoff.
double retention_factor(Species const& species,
                        std::size_t column,
                        double reference_k,
                        double temperature_k);
/// The oven held at another temperature: retention follows van 't Hoff; with helium as carrier at
/// fixed pressures the flow falls as the viscosity rises.
Oven at_temperature(Oven oven, double temperature_k);
/// Every event with this action moved by `by_s`; order of time restored.
void shift_event(Oven& oven, std::string const& action, double by_s);

}  // namespace gw::oven
