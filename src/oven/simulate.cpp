#include "oven/simulate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "oven/band.hpp"
#include "oven/detector_cell.hpp"

namespace gw::oven {

namespace {

constexpr double cells_a_sigma = 12;      // of a band that has crossed the column
constexpr double longest_step_s = 0.1;    // the injected plug is a few tenths of a second long
constexpr double finest_over = 16;        // times the usual grid, for strongly held components
constexpr double shortest_step_s = 5e-4;  // finer than any sampling
constexpr double most_cells = 20000, fewest_cells = 24;

/// A stretch of time in which nothing moves.
struct Stretch {
    double begin{}, end{};
    Path const* path{};
    std::vector<std::vector<double>> holdup_s;
    std::vector<bool> sealed;  ///< by column
};

std::vector<Stretch> stretches(Oven const& oven) {
    std::vector<Stretch> out;
    std::vector<bool> setting(oven.flags.size());
    auto const add = [&](double begin, double end) {
        if (!(end > begin)) return;
        Stretch s;
        s.begin = begin;
        s.end = end;
        s.path = oven.path_of(setting);
        s.sealed.assign(oven.columns.size(), true);
        if (s.path != nullptr) {
            s.holdup_s = holdups(oven, *s.path);
            for (auto const& chain : s.path->chains)
                if (chain)
                    for (auto const& passage : chain->passages) s.sealed[passage.column] = false;
        }
        out.push_back(std::move(s));
    };
    // An event moved to before zero is obeyed: the columns were clean before it anyway.
    double now = std::min(0.0, oven.programme.empty() ? 0.0 : oven.programme.front().at_s);
    for (auto const& event : oven.programme) {
        if (event.at_s >= oven.cycle_s) break;
        add(now, event.at_s);
        now = event.at_s;
        if (auto const* action = oven.action(event.action))
            for (auto const& set : action->sets) setting[set.first] = set.second;
    }
    add(now, oven.cycle_s);
    return out;
}

std::vector<LoopRelease> loops(Oven const& oven) {
    std::vector<LoopRelease> out;
    for (auto const& chain : oven.chains) {
        LoopRelease loop;
        if (chain.injection) {
            loop.pulse_s = chain.injection->pulse_s;
            loop.lag_s = chain.injection->loop_tau_s;
            for (auto const& event : oven.programme)
                if (event.action == chain.injection->on_action && event.at_s < oven.cycle_s)
                    loop.starts.push_back(event.at_s);
        }
        out.push_back(std::move(loop));
    }
    return out;
}

/// The longest hold-up a column has in this programme: its grid is laid for that.
std::vector<double> longest_holdups(Oven const& oven, std::vector<Stretch> const& all) {
    std::vector<double> out(oven.columns.size());
    for (auto const& stretch : all) {
        if (stretch.path == nullptr) continue;
        for (std::size_t c = 0; c < stretch.holdup_s.size(); ++c)
            for (std::size_t p = 0; p < stretch.holdup_s[c].size(); ++p) {
                auto& longest = out[stretch.path->chains[c]->passages[p].column];
                longest = std::max(longest, stretch.holdup_s[c][p]);
            }
    }
    return out;
}

Band band_for(Column const& column, double residence_s, double fineness) {
    double const usual = cells_a_sigma * std::sqrt(column.plates);  // sigma = L/sqrt(N)
    double const finer = std::clamp(residence_s / usual / longest_step_s, 1.0, finest_over);
    double cells = std::ceil(usual * finer * fineness);
    cells = std::min({cells, most_cells * fineness, residence_s / shortest_step_s});
    cells = std::max(std::floor(cells), fewest_cells);
    return {static_cast<std::size_t>(cells), cells / column.plates};
}

}  // namespace

/// A run in progress: every band where it stands, what the detectors have seen.
class Run {
  public:
    Run(Oven const& oven, std::vector<double> const& amounts, SimulateOptions const& options)
        : oven_(&oven),
          amounts_(amounts),
          options_(options),
          stretches_(stretches(oven)),
          loops_(loops(oven)),
          collector_(oven),
          balance_(oven.species.size()) {
        auto const longest = longest_holdups(oven, stretches_);
        for (std::size_t s = 0; s < oven.species.size(); ++s) {
            balance_[s].component = oven.species[s].component;
            auto& bands = bands_.emplace_back();
            for (std::size_t c = 0; c < oven.columns.size(); ++c)
                bands.push_back(band_for(oven.columns[c],
                                         std::max(longest[c], 1e-3) * (1 + oven.species[s].k[c]),
                                         options.fineness));
        }
    }

    /// The same run from here on under a programme that differs only later.
    void follow(Oven const& oven) {
        oven_ = &oven;
        stretches_ = stretches(oven);
        loops_ = loops(oven);
    }

    void until(double t) {
        for (std::size_t s = 0; s < bands_.size(); ++s)
            for (auto const& stretch : stretches_) {
                double const begin = std::max(stretch.begin, now_), end = std::min(stretch.end, t);
                if (end > begin) advance(s, stretch, begin, end);
            }
        now_ = t;
    }

    Simulated result() {
        Simulated out;
        out.interval_s = 1 / oven_->rate_hz;
        out.samples = collector_.samples();
        out.balance = balance_;
        for (std::size_t s = 0; s < bands_.size(); ++s) {
            auto& balance = out.balance[s];
            double delivered = 0;
            for (auto const& loop : loops_) {
                balance.injected += static_cast<double>(loop.starts.size());
                delivered += loop.passed(oven_->cycle_s);
            }
            balance.stored = balance.injected - delivered;  // still in the loop
            for (auto const& band : bands_[s]) balance.stored += band.total();
        }
        out.peaks = collector_.signals();
        return out;
    }

  private:
    void advance(std::size_t s, Stretch const& stretch, double begin, double end) {
        double const pace = options_.snapshot_s;
        double now = begin;
        while (now < end) {
            double const next = options_.snapshot && pace > 0
                                    ? std::min(end, (std::floor(now / pace + 1e-9) + 1) * pace)
                                    : end;
            part(s, stretch, now, next);
            if (options_.snapshot)
                for (std::size_t c = 0; c < bands_[s].size(); ++c)
                    options_.snapshot(next, s, c, bands_[s][c].cells());
            now = next;
        }
    }

    void part(std::size_t s, Stretch const& stretch, double begin, double end) {
        auto const& species = oven_->species[s];
        auto& bands = bands_[s];
        auto& balance = balance_[s];
        for (std::size_t c = 0; c < oven_->chains.size(); ++c) {
            auto const* path = stretch.path != nullptr && stretch.path->chains[c]
                                   ? &*stretch.path->chains[c]
                                   : nullptr;
            Inflow const injected(loops_[c], begin, end);
            double const given = loops_[c].passed(end) - loops_[c].passed(begin);
            if (path == nullptr) {
                balance.vented += given;  // injected into a chain that stands still
                continue;
            }
            Curve curve;
            bool first = true;
            for (std::size_t p = 0; p < path->passages.size(); ++p) {
                auto const& passage = path->passages[p];
                auto& band = bands[passage.column];
                double const step = stretch.holdup_s[c][p] * (1 + species.k[passage.column]) /
                                    static_cast<double>(band.cell_count());
                curve = band.flow(passage.backward,
                                  begin,
                                  end,
                                  step,
                                  first ? injected : Inflow(curve),
                                  first ? 1 - oven_->leak_across : 1);
                first = false;
            }
            if (first) curve = straight_through(loops_[c], begin, end);
            double const skipped = first ? 0 : oven_->leak_across * given;
            if (!path->to_detector) {
                balance.vented += curve.total + skipped;
                continue;
            }
            std::size_t const detector = *oven_->chains[c].detector;
            balance.detected += curve.total + skipped;
            double const per_share = 100 * amounts_[s] * oven_->amount_factor *
                                     oven_->response_factor * oven_->detectors[detector].scale /
                                     100 * species.response;
            collector_.add(species.reported_as, detector, curve, per_share);
            if (skipped != 0)
                collector_.add(species.reported_as,
                               detector,
                               straight_through(loops_[c], begin, end),
                               per_share * oven_->leak_across);
        }
        for (std::size_t k = 0; k < bands.size(); ++k) {
            if (!stretch.sealed[k] || bands[k].empty()) continue;
            auto const& column = oven_->columns[k];
            if (!(column.stored_diffusion_m2_s > 0)) continue;
            double const cell_m = column.length_m / static_cast<double>(bands[k].cell_count());
            bands[k].rest(2 * column.stored_diffusion_m2_s * (end - begin) / (1 + species.k[k]) /
                          (cell_m * cell_m));
        }
    }

    /// A chain that passes no column: the loop empties into the detector.
    static Curve straight_through(LoopRelease const& loop, double begin, double end) {
        Curve out;
        out.begin = begin;
        out.end = end;
        Inflow const inflow(loop, begin, end);
        if (inflow.nothing()) {
            out.step = end - begin;
            out.at.assign(1, 0.0);
            out.find_support();
            return out;
        }
        double const finest = std::max(loop.pulse_s / 200, 1e-4);
        auto const steps =
            static_cast<std::size_t>(std::clamp(std::ceil((end - begin) / finest), 1.0, 200000.0));
        out.step = (end - begin) / static_cast<double>(steps);
        double const before = loop.passed(begin);
        for (std::size_t k = 0; k <= steps; ++k)
            out.at.push_back(loop.passed(begin + static_cast<double>(k) * out.step) - before);
        out.total = out.at.back();
        out.find_support();
        return out;
    }

    Oven const* oven_;
    std::vector<double> amounts_;
    SimulateOptions options_;
    std::vector<Stretch> stretches_;
    std::vector<LoopRelease> loops_;
    Collector collector_;
    std::vector<Balance> balance_;
    std::vector<std::vector<Band>> bands_;  ///< by species, then column
    double now_ = -1e300;
};

std::vector<double> Simulated::total(std::size_t detector) const {
    std::vector<double> sum(samples);
    for (auto const& peak : peaks)
        if (peak.detector == detector)
            for (std::size_t i = 0; i < samples; ++i) sum[i] += peak.signal[i];
    return sum;
}

Simulated simulate(Oven const& oven,
                   std::vector<double> const& amounts,
                   SimulateOptions const& options) {
    Run run(oven, amounts, options);
    run.until(oven.cycle_s);
    return run.result();
}

Checkpoint::Checkpoint(Oven const& oven,
                       std::vector<double> const& amounts,
                       double at_s,
                       SimulateOptions const& options)
    : oven_(oven), at_s_(at_s) {
    auto run = std::make_shared<Run>(oven_, amounts, options);
    run->until(at_s);
    run_ = std::move(run);
}

Simulated Checkpoint::resume(Oven const& oven) const {
    auto run = *run_;
    run.follow(oven);
    run.until(oven.cycle_s);
    return run.result();
}

Result<std::vector<double>> amounts_of(gas::Composition const& gas,
                                       Oven const& oven,
                                       gas::Characterisation const& split) {
    auto const whole = gas::expanded(gas, split);
    std::vector<double> out(oven.species.size());
    for (std::size_t i = 0; i < whole.components.size(); ++i) {
        auto const component = whole.components[i];
        auto const at = std::find_if(oven.species.begin(),
                                     oven.species.end(),
                                     [&](Species const& s) { return s.component == component; });
        if (at != oven.species.end()) {
            out[static_cast<std::size_t>(at - oven.species.begin())] = whole.x[i];
            continue;
        }
        bool const carrier =
            std::all_of(oven.chains.begin(), oven.chains.end(), [&](Chain const& c) {
                return gas::find_component(c.carrier.gas) == component;
            });
        if (carrier || whole.x[i] == 0) continue;
        return fail(
            Errc::bad_input,
            fmt::format("The twin knows nothing of {}, which is in the gas.", gas::name(component)),
            "oven.components",
            "add its retention factors and response, or leave it out of the gas");
    }
    return out;
}

Apex apex(std::vector<double> const& y, double interval_s) {
    Apex out;
    if (y.size() < 3) return out;
    auto const top = static_cast<std::size_t>(std::max_element(y.begin(), y.end()) - y.begin());
    if (!(y[top] > 0)) return out;
    out.at_s = static_cast<double>(top) * interval_s;
    out.height = y[top];
    if (top > 0 && top + 1 < y.size() && y[top - 1] > 0 && y[top + 1] > 0) {
        double const a = std::log(y[top - 1] / y[top]), b = std::log(y[top + 1] / y[top]);
        if (a + b < 0) {
            double const u = 0.5 * (a - b) / (a + b);
            out.at_s += u * interval_s;
            out.height *= std::exp(-0.25 * (a - b) * u);
        }
    }
    double const half = out.height / 2;
    std::size_t left = top, right = top;
    while (left > 0 && y[left] > half) --left;
    while (right + 1 < y.size() && y[right] > half) ++right;
    if (y[left] > half || y[right] > half) return out;
    double const from = static_cast<double>(left) + (half - y[left]) / (y[left + 1] - y[left]);
    double const to = static_cast<double>(right) - (half - y[right]) / (y[right - 1] - y[right]);
    out.width_half_s = (to - from) * interval_s;
    return out;
}

}  // namespace gw::oven
