#include <algorithm>
#include <cmath>

#include "oven/model.hpp"

namespace gw::oven {

namespace {

constexpr double molar_gas_constant = 8.31446261815324;  // J/(mol K), SI Brochure 9th ed., exact

double viscosity(Carrier const& carrier, double temperature_k) {
    return carrier.viscosity_pa_s > 0 ? carrier.viscosity_pa_s : helium_viscosity(temperature_k);
}

// Darcy with Boyle: along each column p^2 falls linearly, and pressure times volume flow, q, is the
// same in all of them. Each column takes a share of p_in^2 - p_out^2 in proportion to
// L/(area x permeability); the gas spends porosity x area x integral(p dx)/q in it.
std::vector<double> computed(Oven const& oven, Chain const& chain, ChainPath const& path) {
    auto const resistance = [&](Column const& c) {
        return c.length_m / (c.inner_diameter_m * c.inner_diameter_m *
                             packing_permeability(c.particle_m, c.interparticle));
    };
    double total = 0;
    for (auto const& passage : path.passages) total += resistance(oven.columns[passage.column]);
    double const in = chain.carrier.inlet_pa, out = chain.carrier.outlet_pa;
    double const drop = in * in - out * out;
    double const eta = viscosity(chain.carrier, oven.temperature_k);
    std::vector<double> times;
    double p1 = in, below = 0;
    for (auto const& passage : path.passages) {
        auto const& c = oven.columns[passage.column];
        below += resistance(c);
        double const p2 = std::sqrt(std::max(in * in - drop * below / total, 0.0));
        double const velocity_pressure =  // superficial velocity x pressure, the same all along
            packing_permeability(c.particle_m, c.interparticle) * (p1 * p1 - p2 * p2) /
            (2 * eta * c.length_m);
        double const mean_pressure = 2.0 / 3 * (p1 * p1 + p1 * p2 + p2 * p2) / (p1 + p2);
        times.push_back(c.porosity * c.length_m * mean_pressure / velocity_pressure);
        p1 = p2;
    }
    return times;
}

}  // namespace

double helium_viscosity(double temperature_k) {
    double const t = (temperature_k - 273.15) / 273.15;
    return 18.63e-6 * std::pow(temperature_k / 273.15, 0.6958 - 0.0071 * t);
}

double packing_permeability(double particle_m, double e) {
    return particle_m * particle_m * e * e * e / (180 * (1 - e) * (1 - e));
}

double compressibility_correction(double P) { return 1.5 * (P + 1) / (P * P + P + 1); }

std::vector<std::vector<double>> holdups(Oven const& oven, Path const& path) {
    std::vector<std::vector<double>> out(oven.chains.size());
    for (std::size_t c = 0; c < oven.chains.size(); ++c) {
        if (!path.chains[c]) continue;
        if (oven.computed_flow) {
            out[c] = computed(oven, oven.chains[c], *path.chains[c]);
            continue;
        }
        for (auto const& passage : path.chains[c]->passages)
            out[c].push_back(oven.columns[passage.column].holdup_s * passage.holdup_factor);
    }
    return out;
}

double retention_factor(Species const& species,
                        std::size_t column,
                        double reference_k,
                        double temperature_k) {
    return species.k[column] * std::exp(-species.enthalpy_j_mol[column] / molar_gas_constant *
                                        (1 / temperature_k - 1 / reference_k));
}

Oven at_temperature(Oven oven, double temperature_k) {
    for (auto& species : oven.species)
        for (std::size_t c = 0; c < species.k.size(); ++c)
            species.k[c] = retention_factor(species, c, oven.temperature_k, temperature_k);
    double const thicker = helium_viscosity(temperature_k) / helium_viscosity(oven.temperature_k);
    for (auto& column : oven.columns) column.holdup_s *= thicker;
    for (auto& chain : oven.chains) chain.carrier.viscosity_pa_s *= thicker;
    oven.response_factor *= thicker;  // a concentration detector: area as 1/flow
    oven.temperature_k = temperature_k;
    return oven;
}

void shift_event(Oven& oven, std::string const& action, double by_s) {
    for (auto& event : oven.programme)
        if (event.action == action) event.at_s += by_s;
    std::stable_sort(oven.programme.begin(),
                     oven.programme.end(),
                     [](Event const& a, Event const& b) { return a.at_s < b.at_s; });
}

}  // namespace gw::oven
