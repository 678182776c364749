#include "oven/retime.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/parallel.hpp"
#include "gas/iso6976.hpp"

namespace gw::oven {

namespace {

using Shares = std::vector<PeakShare>;

class Search {
  public:
    Search(Oven oven, std::vector<double> const& amounts, RetimeOptions const& options)
        : oven_(std::move(oven)), amounts_(amounts), options_(options) {
        // As many samples as the narrowest peak needs: areas of whole peaks are exact from few.
        auto const run = simulate(oven_, amounts_);
        double narrowest = 1e300;
        for (auto const& peak : run.peaks)
            if (double const w = apex(peak.signal, run.interval_s).width_half_s; w > 0)
                narrowest = std::min(narrowest, w);
        oven_.rate_hz = std::min(oven_.rate_hz, std::max(samples_a_width / narrowest, 2.0));
    }

    static constexpr double samples_a_width = 16;
    /// Coarser than usual: windows are decided by differences between runs on one grid.
    static SimulateOptions search_grid() {
        SimulateOptions options;
        options.fineness = 0.75;
        return options;
    }

    [[nodiscard]] Oven const& oven() const { return oven_; }
    [[nodiscard]] int simulations() const { return simulations_; }
    void place(std::size_t event, double at_s) { oven_.programme[event].at_s = at_s; }

    Shares shares(Oven const& oven) const {
        return peak_shares(oven, amounts_, simulate(oven, amounts_, search_grid()));
    }

    [[nodiscard]] double limit(PeakShare const& share) const {
        return share.amount < options_.minor_below ? options_.minor_limit : options_.limit;
    }

    /// Everything wrong at once, in units of what is allowed: smallest at the event's best.
    [[nodiscard]] double badness(Shares const& shares) const {
        double sum = 0;
        for (auto const& s : shares) sum += (std::abs(s.loss()) + std::abs(s.gain())) / limit(s);
        return sum;
    }

    /// A way of moving events by one number, with the scan's bounds.
    struct Line {
        std::vector<std::pair<std::size_t, double>> base;  ///< event and its time at zero
        double low{}, high{};                              ///< of the number
        std::string low_name, high_name;                   ///< what bounds it there
    };

    struct Window {
        double best{};
        bool feasible = false;
        double earliest{}, latest{};
        bool open_low = false, open_high = false;  ///< bounded by an event or an end, not by a loss
        std::string low_cause, high_cause, compromise;
    };

    /// The event's best time and how bad the programme is with it.
    std::pair<double, double> best(Line const& line, double start) {
        begin(line);
        double const step = options_.scan_step_s;
        double centre = std::clamp(start, line.low, line.high);
        double found = centre;
        for (int again = 0; again < 4; ++again) {
            scan(centre - options_.reach_s, centre + options_.reach_s, 2 * step);
            found = best_known();
            if (std::abs(found - centre) < options_.reach_s - 4 * step) break;
            centre = found;
        }
        scan(found - 3 * step, found + 3 * step, step / 2);
        found = best_known();
        return {found, badness(known_.at(found))};
    }

    Window window(Line const& line, double start) {
        Window out;
        out.best = best(line, start).first;
        reference_ = known_.at(out.best);
        auto const [gross, sentence] = gross_at(out.best);
        out.compromise = sentence;
        if (gross) return out;
        out.feasible = true;
        edge(out.best, -1, out.earliest, out.open_low, out.low_cause);
        edge(out.best, +1, out.latest, out.open_high, out.high_cause);
        return out;
    }

    /// How bad the programme is as it stands.
    double badness_now() { return badness(shares(oven_)); }

  private:
    Oven moved(double x) const {
        Oven oven = oven_;
        for (auto const& entry : line_->base) oven.programme[entry.first].at_s = entry.second + x;
        std::stable_sort(oven.programme.begin(),
                         oven.programme.end(),
                         [](Event const& a, Event const& b) { return a.at_s < b.at_s; });
        return oven;
    }

    /// What is already known of this line stays of use as long as no other event has moved.
    void begin(Line const& line) {
        line_ = &line;
        std::vector<double> others;
        for (std::size_t e = 0; e < oven_.programme.size(); ++e) {
            bool on_line = false;
            for (auto const& entry : line.base) {
                if (entry.first != e) continue;
                on_line = true;
                others.push_back(-1 - entry.second);
            }
            others.push_back(on_line ? -1.0 : oven_.programme[e].at_s);
        }
        if (others == key_) return;
        if (!key_.empty()) kept_[key_] = {std::move(known_), std::move(checkpoint_)};
        known_.clear();
        checkpoint_.reset();
        key_ = others;
        if (auto const at = kept_.find(key_); at != kept_.end()) {
            known_ = std::move(at->second.first);
            checkpoint_ = std::move(at->second.second);
            kept_.erase(at);
        }
    }

    Simulated run(Oven const& oven, double x) const {
        if (checkpoint_ && line_->base.front().second + x > checkpoint_->at_s())
            return checkpoint_->resume(oven);
        return simulate(oven, amounts_, search_grid());
    }

    Shares const& at(double x) {
        auto const found = known_.find(x);
        if (found != known_.end()) return found->second;
        ++simulations_;
        auto const oven = moved(x);
        return known_.emplace(x, peak_shares(oven, amounts_, run(oven, x))).first->second;
    }

    void scan(double from, double to, double step) {
        std::vector<double> points;
        from = std::max(from, line_->low);
        to = std::min(to, line_->high);
        for (double x = std::ceil(from / step) * step; x <= to; x += step)
            if (!known_.contains(x)) points.push_back(x);
        if (points.empty() && known_.empty())
            points.push_back(std::clamp(from, line_->low, line_->high));
        // All that happens before the first of these moments is the same for all of them.
        double const first = line_->base.front().second + (points.empty() ? 0 : points.front());
        if (!checkpoint_ && points.size() > 2 && first > 1)
            checkpoint_.emplace(moved(points.front()), amounts_, first - 0.05, search_grid());
        auto const found = parallel_map(points.size(), [&](std::size_t i) {
            auto const oven = moved(points[i]);
            return peak_shares(oven, amounts_, run(oven, points[i]));
        });
        simulations_ += static_cast<int>(points.size());
        for (std::size_t i = 0; i < points.size(); ++i) known_.emplace(points[i], found[i]);
    }

    double best_known() const {
        // On a level stretch every time is as good: take the middle of those that are.
        double lowest = 1e300;
        for (auto const& entry : known_) lowest = std::min(lowest, badness(entry.second));
        double first = 0, last = 0;
        bool any = false;
        for (auto const& entry : known_) {
            if (badness(entry.second) > lowest + 0.02) {
                if (any) break;
                continue;
            }
            if (!any) first = entry.first;
            any = true;
            last = entry.first;
        }
        double middle = first, distance = 1e300;
        for (auto const& entry : known_)
            if (double const d = std::abs(entry.first - (first + last) / 2); d < distance) {
                middle = entry.first;
                distance = d;
            }
        return middle;
    }

    /// The worst departure from the best, in units of what is allowed, and its name.
    std::pair<double, std::string> departure(double x) {
        double worst = 0;
        std::string name = "nothing";
        for (auto const& s : at(x))
            for (auto const& r : reference_) {
                if (r.reported_as != s.reported_as || !(r.kept > 0)) continue;
                double const lost = (r.kept - s.kept) / r.kept,
                             gained = (s.gained - r.gained) / r.kept;
                for (auto const& [share, word] :
                     {std::pair{lost, "loses"}, std::pair{gained, "gains"}})
                    if (share / limit(s) > worst) {
                        worst = share / limit(s);
                        name = fmt::format("{} {}", gas::name(s.reported_as), word);
                    }
            }
        return {worst, name};
    }

    bool inside(double x) { return departure(x).first <= 1; }

    /// Whether some peak is far worse off at x than it would be close by, and which one most.
    std::pair<bool, std::string> gross_at(double x) {
        double worst = 0, worst_share = 0;
        std::string text = "nothing is lost";
        for (auto const& s : known_.at(x)) {
            double kept = s.kept, gained = s.gained;
            for (auto const& entry : known_) {
                if (std::abs(entry.first - x) > options_.neighbourhood_s) continue;
                for (auto const& other : entry.second)
                    if (other.reported_as == s.reported_as) {
                        kept = std::max(kept, other.kept);
                        gained = std::min(gained, other.gained);
                    }
            }
            double const lost = (kept - s.kept) / s.whole, won = (s.gained - gained) / s.whole;
            if (lost / limit(s) > worst) {
                worst = lost / limit(s);
                text = fmt::format("{} loses {:.2f} %", gas::name(s.reported_as), 100 * lost);
            }
            if (won / limit(s) > worst) {
                worst = won / limit(s);
                text = fmt::format(
                    "{} gains {:.2f} % from others", gas::name(s.reported_as), 100 * won);
            }
            worst_share = std::max({worst_share, lost, won});
        }
        return {worst_share > options_.gross, text};
    }

    void edge(double from, int sign, double& edge_at, bool& open, std::string& cause) {
        double const bound = sign < 0 ? line_->low : line_->high;
        // Outward through what is known already, then in larger steps.
        double good = from, bad = from;
        bool bracketed = false;
        std::vector<double> known;
        for (auto const& entry : known_)
            if (sign < 0 ? entry.first < from : entry.first > from) known.push_back(entry.first);
        if (sign < 0) std::reverse(known.begin(), known.end());
        for (double const x : known) {
            if (!inside(x)) {
                bad = x;
                bracketed = true;
                break;
            }
            good = x;
        }
        while (!bracketed) {
            double next = good + sign * wide_step_s;
            bool const last = sign < 0 ? next <= bound : next >= bound;
            if (last) next = bound;
            if (!inside(next)) {
                bad = next;
                bracketed = true;
            } else {
                good = next;
                if (last) {
                    edge_at = bound;
                    open = true;
                    cause = sign < 0 ? line_->low_name : line_->high_name;
                    return;
                }
            }
        }
        cause = departure(bad).second;
        // Losses rise like the tail of a peak: the straight line is laid through their logarithms.
        while (std::abs(bad - good) > options_.edge_s) {
            double const low = std::log(std::max(departure(good).first, 1e-6)),
                         high = std::log(departure(bad).first);
            double const share = high > low ? std::clamp(-low / (high - low), 0.1, 0.9) : 0.5;
            double const x = good + share * (bad - good);
            double const there = departure(x).first;
            if (std::abs(there - 1) < 0.02) {
                good = x;
                break;
            }
            (there <= 1 ? good : bad) = x;
        }
        edge_at = good;
    }

    static constexpr double wide_step_s = 2;

    Oven oven_;
    std::vector<double> const& amounts_;
    RetimeOptions options_;
    Line const* line_ = nullptr;
    std::map<double, Shares> known_;
    Shares reference_;
    std::optional<Checkpoint> checkpoint_;
    std::vector<double> key_;
    std::map<std::vector<double>, std::pair<std::map<double, Shares>, std::optional<Checkpoint>>>
        kept_;
    int simulations_ = 0;
};

constexpr double between_events_s = 0.1;  // events keep their order

Search::Line line_of(Oven const& oven, std::size_t e) {
    Search::Line line;
    line.base = {{e, 0.0}};
    line.low = 0;
    line.low_name = "the start of the run";
    line.high = oven.cycle_s;
    line.high_name = "the end of the cycle";
    if (e > 0) {
        line.low = oven.programme[e - 1].at_s + between_events_s;
        line.low_name = fmt::format("\"{}\"", oven.programme[e - 1].action);
    }
    if (e + 1 < oven.programme.size()) {
        line.high = oven.programme[e + 1].at_s - between_events_s;
        line.high_name = fmt::format("\"{}\"", oven.programme[e + 1].action);
    }
    line.high = std::max(line.high, line.low);
    return line;
}

double rounded(double t, double step) { return std::round(t / step) * step; }

/// The middle of a window with two edges; with one, clear of it, and where it was if it is.
double placed(Search::Window const& w, double old, RetimeOptions const& options) {
    double const step = options.time_step_s;
    double at = w.best;
    if (w.feasible) {
        double const clear = std::min(options.keep_clear_s, (w.latest - w.earliest) / 2);
        if (!w.open_low && !w.open_high)
            at = (w.earliest + w.latest) / 2;
        else if (w.open_low && w.open_high)
            at = std::clamp(old, w.earliest, w.latest);
        else if (w.open_low)
            at = std::min(old, w.latest - clear);
        else
            at = std::max(old, w.earliest + clear);
        at = std::clamp(at, w.earliest, w.latest);
    }
    double result = rounded(at, step);
    if (w.feasible && result < w.earliest) result += step;
    if (w.feasible && result > w.latest) result -= step;
    return result;
}

std::string sentence(EventWindow const& e, Search::Window const& w) {
    if (e.fixed) return fmt::format("\"{}\" is the zero of time and stays.", e.action);
    if (!e.feasible)
        return fmt::format("\"{}\" has no clean time: at {:.2f} s, the best compromise, {}.",
                           e.action,
                           e.at_s,
                           w.compromise);
    bool const stays = std::abs(e.at_s - e.from_s) < 1e-6;
    return fmt::format(
        "\"{}\" {} {:.2f} s: clean from {:.2f} s (before that {}) to {:.2f} s (after that {}), "
        "margin {:.2f} s; at its best {}.",
        e.action,
        stays ? std::string("stays at") : fmt::format("moves from {:.2f} to", e.from_s),
        e.at_s,
        *e.earliest_s,
        w.open_low ? w.low_cause + " comes" : w.low_cause,
        *e.latest_s,
        w.open_high ? w.high_cause + " comes" : w.high_cause,
        std::min(e.at_s - *e.earliest_s, *e.latest_s - e.at_s),
        w.compromise);
}

}  // namespace

double calorific_value_error(std::vector<PeakShare> const& shares,
                             Oven const& oven,
                             std::vector<double> const& amounts) {
    gas::Composition truth, seen;
    for (std::size_t s = 0; s < oven.species.size(); ++s) {
        if (!(amounts[s] > 0)) continue;
        auto const& species = oven.species[s];
        auto const at = std::find_if(shares.begin(), shares.end(), [&](PeakShare const& p) {
            return p.reported_as == species.reported_as;
        });
        if (at == shares.end() || species.component == gas::c6_plus) continue;
        truth.components.push_back(species.component);
        seen.components.push_back(species.component);
        truth.x.push_back(amounts[s]);
        seen.x.push_back(amounts[s] * (at->kept + at->gained) / at->whole);
    }
    if (truth.x.empty()) return 0;
    auto const right = gas::iso6976(gas::normalised(truth)),
               got = gas::iso6976(gas::normalised(seen));
    if (!right || !got) return 0;
    return got->real.gross_cv_volume.value / right->real.gross_cv_volume.value - 1;
}

Retimed retime(Oven const& oven, std::vector<double> const& amounts, RetimeOptions const& options) {
    Retimed out;
    Search search(oven, amounts, options);
    auto const is_fixed = [&](std::size_t e) { return oven.injects(oven.programme[e].action); };
    std::size_t const events = oven.programme.size();
    // A badly placed event spoils the windows of the others: the one that gains most by moving
    // alone goes first, until none gains.
    double bad = search.badness_now();
    for (std::size_t repair = 0; repair < events; ++repair) {
        std::size_t which = events;
        double where = 0, least = bad - 1;  // worth moving: a peak more within its limit
        for (std::size_t e = 0; e < events; ++e) {
            if (is_fixed(e)) continue;
            auto const line = line_of(search.oven(), e);
            auto const [at, badness] = search.best(line, search.oven().programme[e].at_s);
            if (badness < least) {
                least = badness;
                which = e;
                where = at;
            }
        }
        if (which == events) break;
        search.place(which, where);
        bad = least;
    }
    for (int round = 0; round < options.rounds; ++round) {
        bool moved = false;
        for (std::size_t e = 0; e < events; ++e) {
            if (is_fixed(e)) continue;
            double const old = search.oven().programme[e].at_s;
            auto const line = line_of(search.oven(), e);
            auto const window = search.window(line, old);
            double const at = placed(window, oven.programme[e].at_s, options);
            moved = moved || std::abs(at - old) > options.time_step_s / 2;
            search.place(e, at);
        }
        if (!moved) break;
    }
    for (std::size_t e = 0; e < events; ++e) {
        EventWindow event;
        event.action = oven.programme[e].action;
        event.from_s = oven.programme[e].at_s;
        event.at_s = search.oven().programme[e].at_s;
        event.fixed = is_fixed(e);
        Search::Window window;
        if (!event.fixed) {
            auto const line = line_of(search.oven(), e);
            window = search.window(line, event.at_s);
            event.feasible = window.feasible;
            if (window.feasible) {
                event.earliest_s = window.earliest;
                event.latest_s = window.latest;
                event.limited_by =
                    fmt::format("earlier: {}; later: {}", window.low_cause, window.high_cause);
            } else {
                event.limited_by = window.compromise;
            }
        } else {
            event.limited_by = "zero of time";
        }
        event.sentence = sentence(event, window);
        out.programme.push_back(event);
    }
    // Events that set the same flag belong together: store and release, reverse and restore.
    for (std::size_t a = 0; a < events; ++a)
        for (std::size_t b = a + 1; b < events; ++b) {
            auto const* first = oven.action(oven.programme[a].action);
            auto const* second = oven.action(oven.programme[b].action);
            if (first == nullptr || second == nullptr || is_fixed(a) || is_fixed(b)) continue;
            bool shared = false;
            for (auto const& s : first->sets)
                for (auto const& t : second->sets)
                    shared = shared || (s.first == t.first && s.second != t.second);
            if (!shared) continue;
            auto const la = line_of(search.oven(), a), lb = line_of(search.oven(), b);
            double const ta = search.oven().programme[a].at_s, tb = search.oven().programme[b].at_s;
            Search::Line line;
            line.base = {{a, ta}, {b, tb}};
            bool const adjacent = b == a + 1;
            line.low = std::max(la.low - ta, adjacent ? -1e9 : lb.low - tb);
            line.high = std::min(lb.high - tb, adjacent ? 1e9 : la.high - ta);
            JointWindow joint{oven.programme[a].action, oven.programme[b].action, {}, {}};
            if (line.low < line.high) {
                auto const window = search.window(line, 0);
                if (window.feasible) {
                    joint.earliest_s = window.earliest;
                    joint.latest_s = window.latest;
                }
            }
            out.joint.push_back(joint);
        }
    out.oven = search.oven();
    out.oven.rate_hz = oven.rate_hz;
    out.before = peak_shares(oven, amounts, simulate(oven, amounts));
    out.after = peak_shares(out.oven, amounts, simulate(out.oven, amounts));
    out.cv_before = calorific_value_error(out.before, oven, amounts);
    out.cv_after = calorific_value_error(out.after, oven, amounts);
    out.simulations = search.simulations() + 3;
    return out;
}

}  // namespace gw::oven
