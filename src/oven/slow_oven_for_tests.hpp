#pragma once
/// A second, slow model of the oven for tests, made independently of band.cpp: concentrations in
/// fixed cells much narrower than a plate, central differences, Crank-Nicolson in time, one time
/// step for all columns. Shares with the fast model only the description of the oven and the
/// hold-ups.
#include <algorithm>
#include <cmath>
#include <vector>

#include "oven/curve.hpp"
#include "oven/model.hpp"

namespace gw::oven {

struct SlowColumn {
    std::vector<double> amount;  // per cell, share of one injection
    double plates{}, retention{};

    // One step of dt with the gas crossing the column in holdup seconds; answers the outflow.
    double flow(bool backward, double dt, double holdup, double inflow) {
        if (backward) std::reverse(amount.begin(), amount.end());
        auto const n = amount.size();
        double const residence = holdup * retention, dx = 1.0 / static_cast<double>(n);
        double const v = dt / residence / dx;    // Courant number
        double const d = v / (2 * plates) / dx;  // dispersion number
        // Face flux (towards the outlet) between i and i + 1: v (a_i + a_i+1)/2 - d (a_i+1 - a_i).
        // In: what is given. Out: v a_last, its slope being zero.
        std::vector<double> low(n), mid(n), high(n);
        for (std::size_t i = 0; i < n; ++i) {
            double const in_from_left = i > 0 ? v / 2 + d : 0;   // a_i-1
            double const in_from_self = i > 0 ? v / 2 - d : 0;   // a_i on the left face
            double const out_self = i + 1 < n ? v / 2 + d : v;   // a_i on the right face
            double const out_right = i + 1 < n ? v / 2 - d : 0;  // a_i+1 on the right face
            low[i] = in_from_left;
            mid[i] = in_from_self - out_self;
            high[i] = -out_right;
        }
        std::vector<double> right(n);
        for (std::size_t i = 0; i < n; ++i) {
            right[i] =
                amount[i] + 0.5 * (mid[i] * amount[i] + (i > 0 ? low[i] * amount[i - 1] : 0) +
                                   (i + 1 < n ? high[i] * amount[i + 1] : 0));
        }
        right[0] += inflow;
        double const last_before = amount[n - 1];
        solve(low, mid, high, right);
        amount = right;
        double const out = v * 0.5 * (last_before + amount[n - 1]);
        if (backward) std::reverse(amount.begin(), amount.end());
        return out;
    }

    // Sealed: diffusion alone, number d per step.
    void rest(double d) {
        auto const n = amount.size();
        std::vector<double> low(n), mid(n), high(n), right(n);
        for (std::size_t i = 0; i < n; ++i) {
            low[i] = i > 0 ? d : 0;
            high[i] = i + 1 < n ? d : 0;
            mid[i] = -low[i] - high[i];
            right[i] =
                amount[i] + 0.5 * (mid[i] * amount[i] + (i > 0 ? low[i] * amount[i - 1] : 0) +
                                   (i + 1 < n ? high[i] * amount[i + 1] : 0));
        }
        solve(low, mid, high, right);
        amount = right;
    }

    // (1 - half of the operator) x = right, by elimination.
    static void solve(std::vector<double> const& low,
                      std::vector<double> const& mid,
                      std::vector<double> const& high,
                      std::vector<double>& right) {
        auto const n = right.size();
        std::vector<double> above(n);
        double pivot = 1 - mid[0] / 2;
        above[0] = -high[0] / 2 / pivot;
        right[0] /= pivot;
        for (std::size_t i = 1; i < n; ++i) {
            double const under = -low[i] / 2;
            pivot = 1 - mid[i] / 2 - under * above[i - 1];
            above[i] = -high[i] / 2 / pivot;
            right[i] = (right[i] - under * right[i - 1]) / pivot;
        }
        for (std::size_t i = n - 1; i-- > 0;) right[i] -= above[i] * right[i + 1];
    }
};

// Detector signal of one species of amount one, response 100, scale 100: area 1e4 x share detected.
inline std::vector<double> slow_signal(
    Oven const& oven, std::size_t species, std::size_t detector, double dt, double cells_a_plate) {
    std::vector<SlowColumn> columns;
    for (std::size_t c = 0; c < oven.columns.size(); ++c)
        columns.push_back(
            {std::vector<double>(static_cast<std::size_t>(oven.columns[c].plates * cells_a_plate)),
             oven.columns[c].plates,
             1 + oven.species[species].k[c]});
    auto const steps = static_cast<std::size_t>(std::llround(oven.cycle_s / dt));
    auto const every = static_cast<std::size_t>(std::llround(1 / oven.rate_hz / dt));
    std::vector<double> signal;
    double cell = 0;
    double const tau = oven.detectors[detector].cell_tau_s;
    for (std::size_t k = 0; k < steps; ++k) {
        double const t = static_cast<double>(k) * dt, middle = t + dt / 2;
        if (k % every == 0) signal.push_back(cell);
        std::vector<bool> setting(oven.flags.size());
        for (auto const& event : oven.programme)
            if (event.at_s <= middle)
                if (auto const* action = oven.action(event.action))
                    for (auto const& set : action->sets) setting[set.first] = set.second;
        auto const* path = oven.path_of(setting);
        auto const times = holdups(oven, *path);
        std::vector<bool> moving(oven.columns.size());
        double seen = 0;
        for (std::size_t c = 0; c < oven.chains.size(); ++c) {
            if (!path->chains[c]) continue;
            double amount = 0;
            if (oven.chains[c].injection) {
                LoopRelease loop{
                    {}, oven.chains[c].injection->pulse_s, oven.chains[c].injection->loop_tau_s};
                for (auto const& event : oven.programme)
                    if (event.action == oven.chains[c].injection->on_action)
                        loop.starts.push_back(event.at_s);
                amount = loop.passed(t + dt) - loop.passed(t);
            }
            auto const& passages = path->chains[c]->passages;
            for (std::size_t p = 0; p < passages.size(); ++p) {
                moving[passages[p].column] = true;
                amount =
                    columns[passages[p].column].flow(passages[p].backward, dt, times[c][p], amount);
            }
            if (path->chains[c]->to_detector && oven.chains[c].detector == detector) seen += amount;
        }
        for (std::size_t c = 0; c < columns.size(); ++c)
            if (!moving[c] && oven.columns[c].stored_diffusion_m2_s > 0) {
                double const dx =
                    oven.columns[c].length_m / static_cast<double>(columns[c].amount.size());
                columns[c].rest(oven.columns[c].stored_diffusion_m2_s * dt / columns[c].retention /
                                (dx * dx));
            }
        double const f = 1e4 * seen / dt;
        cell += (f - cell) * -std::expm1(-dt / tau);
    }
    return signal;
}

}  // namespace gw::oven
