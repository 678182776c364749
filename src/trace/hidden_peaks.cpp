#include "trace/hidden_peaks.hpp"

#include <optional>

#include "trace/cluster_fit.hpp"
#include "trace/clusters.hpp"
#include "trace/cut_loss.hpp"
#include "trace/peak_flags.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t most_peaks = 8;  // to a cluster that is searched
constexpr double least_distance =
    0.75;  // of the half width. A shape that does not quite fit is best mended by a second
           // one at 0.3 to 0.6 of it (seen with gamma densities and double tails)
constexpr double least_gain = 12;  // by which the misfit falls
constexpr double above_rest = 4;   // heights of what is left over
constexpr double above_noise = 8;

struct Top {
    double t{}, height{}, width_half_s{};
};

Top top_of(Emg const& p) {
    double const width = std::hypot(p.sigma, p.tau);
    double low = p.mu - width, high = p.mu + p.tau + width;
    for (int i = 0; i < 60; ++i) {  // one top: thirds
        double const a = low + (high - low) / 3, b = high - (high - low) / 3;
        (value(p, a) < value(p, b) ? low : high) = value(p, a) < value(p, b) ? a : b;
    }
    Top out{0.5 * (low + high), 0, 0};
    out.height = value(p, out.t);
    auto const half = [&](double step) {
        double near = 0, far = 8 * width;
        for (int i = 0; i < 50; ++i) {
            double const middle = 0.5 * (near + far);
            (value(p, out.t + step * middle) > 0.5 * out.height ? near : far) = middle;
        }
        return near;
    };
    out.width_half_s = half(-1) + half(1);
    return out;
}

double middle(Emg const& p) { return p.mu + 0.7 * p.tau; }

struct Search {
    Survey const& survey;
    Regions const& regions;
    Cluster cluster;
    std::size_t first{}, last{};
    double noise{};

    Search(Survey const& s, Regions const& r, Cluster const& c)
        : survey(s),
          regions(r),
          cluster(c),
          first(r.peaks[c.first].first),
          last(r.peaks[c.last - 1].last),
          noise(std::max(r.rms, s.fast)) {}

    [[nodiscard]] ClusterFit fit(std::vector<Emg> start, double wanted = INFINITY) const {
        std::sort(
            start.begin(), start.end(), [](Emg const& a, Emg const& b) { return a.mu < b.mu; });
        ClusterFitOptions options;
        options.one_column = true;
        options.iterations = 40, options.settled = 1e-3;
        options.wanted = wanted;
        options.ignored = disturbed_samples(survey, first, last);
        auto out = fit_cluster(std::span<double const>(regions.above).subspan(first, last - first),
                               survey.time(first),
                               survey.dt,
                               noise,
                               start,
                               options);
        // A fit may lead one past the other.
        for (std::size_t k = 1; k < out.peaks.size(); ++k)
            for (std::size_t j = k; j > 0 && middle(out.peaks[j]) < middle(out.peaks[j - 1]); --j)
                std::swap(out.peaks[j], out.peaks[j - 1]),
                    std::swap(out.departure[j], out.departure[j - 1]);
        return out;
    }
    [[nodiscard]] double level(double t) const {
        return regions.above[std::clamp(survey.index(t), first, last - 1)];
    }
};

// Sum of squares beyond what noise makes, and its scatter.
struct Misfit {
    double cost{}, excess{}, scatter{};
    explicit Misfit(ClusterFit const& f)
        : cost(f.misfit * f.freedom()),
          excess(f.excess()),
          scatter(std::sqrt(2 * std::max(1.0, f.freedom()))) {}
};

// Where peak k is one of two, the other may stand on either side; or both share its place.
std::vector<std::vector<Emg>> starts_about(Search const& s,
                                           std::vector<Emg> const& peaks,
                                           std::size_t k) {
    std::vector<std::vector<Emg>> out;
    auto const top = top_of(peaks[k]);
    for (double const off : {-1.9, -1.35, -0.95, 0.95, 1.35, 1.9}) {
        auto with = peaks;
        auto extra = peaks[k];
        double const shift = off * top.width_half_s;
        double rest = s.level(top.t + shift);
        for (auto const& p : peaks) rest -= value(p, top.t + shift);
        extra.mu += shift;
        extra.area *= std::clamp(rest / top.height, 0.01, 1.0);
        with.push_back(extra);
        out.push_back(with);
    }
    auto halves = peaks;
    halves[k].sigma *= 0.7, halves[k].tau *= 0.7, halves[k].area *= 0.5;
    auto other = halves[k];
    halves[k].mu -= 0.4 * top.width_half_s, other.mu += 0.4 * top.width_half_s;
    halves.push_back(other);
    out.push_back(halves);
    return out;
}

bool is_new(Search const& s, Top const& top) {
    for (std::size_t k = s.cluster.first; k < s.cluster.last; ++k)
        if (std::abs(s.survey.time(s.regions.peaks[k].top) - top.t) < 0.5 * top.width_half_s)
            return false;
    return true;
}

// What a valve leaves behind looks like a peak that nobody sees.
bool after_event(Search const& s, Top const& top) {
    auto const near = [&](double at_s) {
        return top.t > at_s - 0.5 * top.width_half_s &&
               top.t < at_s + std::max(3.0, 1.5 * top.width_half_s);
    };
    auto const& events = s.survey.options.events;
    return std::any_of(
               events.begin(), events.end(), [&](SignalEvent const& e) { return near(e.at_s); }) ||
           std::any_of(s.survey.disturbances.begin(),
                       s.survey.disturbances.end(),
                       [&](Disturbance const& d) { return near(d.at_s); });
}

bool stands(Search const& s, ClusterFit const& fit) {
    for (std::size_t k = 0; k + 1 < fit.peaks.size(); ++k) {
        auto const a = top_of(fit.peaks[k]), b = top_of(fit.peaks[k + 1]);
        auto const &low = a.height < b.height ? a : b, &high = a.height < b.height ? b : a;
        if (std::abs(b.t - a.t) < least_distance * high.width_half_s) return false;
        if (low.width_half_s > 1.6 * high.width_half_s ||
            high.width_half_s > 1.6 * low.width_half_s)
            return false;
    }
    for (std::size_t k = 0; k < fit.peaks.size(); ++k) {
        auto const top = top_of(fit.peaks[k]);
        if (is_new(s, top) && after_event(s, top)) return false;
        if (top.height < above_noise * s.noise || s.level(top.t) < 0.5 * top.height ||
            top.t < s.survey.time(s.first) || top.t > s.survey.time(s.last - 1))
            return false;
        double rest = 0;
        for (std::size_t j = 0; j < fit.peaks.size(); ++j) {
            auto const other = top_of(fit.peaks[j]);
            if (std::abs(other.t - top.t) < 4 * std::max(other.width_half_s, top.width_half_s))
                rest = std::max(rest, fit.departure[j] * other.height);
        }
        if (top.height < above_rest * rest) return false;
    }
    return true;
}

std::optional<std::vector<Emg>> one_more(Search const& s, ClusterFit const& before) {
    Misfit const from(before);
    if (from.excess < 10 * from.scatter) return std::nullopt;
    std::size_t worst = 0;
    for (std::size_t k = 1; k < before.peaks.size(); ++k)
        if (before.departure[k] * top_of(before.peaks[k]).height >
            before.departure[worst] * top_of(before.peaks[worst]).height)
            worst = k;
    std::optional<ClusterFit> best;
    // What the sum of squares must fall to.
    double const wanted = from.cost - from.excess + from.excess / least_gain;
    double least = from.cost;
    for (auto const& start : starts_about(s, before.peaks, worst)) {
        auto fit = s.fit(start, wanted);
        if (!fit.converged || !std::isfinite(fit.misfit)) continue;
        if (double const cost = Misfit(fit).cost; cost < least) least = cost, best = std::move(fit);
    }
    if (!best) return std::nullopt;
    Misfit const to(*best);
    bool const told = from.cost - to.cost > 4 * std::log(static_cast<double>(best->samples)) &&
                      from.excess > least_gain * std::max(to.excess, to.scatter);
    if (!told || !stands(s, *best)) return std::nullopt;
    return best->peaks;
}

bool has_gap(Survey const& s, std::size_t first, std::size_t last) {
    return std::any_of(s.gaps.begin(), s.gaps.end(), [&](Gap const& g) {
        return g.last >= first && g.first < last;
    });
}

// Regions of a cluster whose shapes are told: those that were there keep their places.
std::vector<Region> regions_of(Search const& s, std::vector<Emg> const& shapes) {
    auto const& r = s.regions;
    std::vector<Region> old(r.peaks.begin() + static_cast<std::ptrdiff_t>(s.cluster.first),
                            r.peaks.begin() + static_cast<std::ptrdiff_t>(s.cluster.last));
    std::vector<bool> taken(old.size(), false);
    std::vector<Region> out;
    std::vector<Top> tops;
    tops.reserve(shapes.size());
    for (auto const& shape : shapes) tops.push_back(top_of(shape));
    // The nearest of the old ones, the tallest shape choosing first.
    std::vector<std::size_t> order(shapes.size()), owner(shapes.size(), old.size());
    for (std::size_t k = 0; k < order.size(); ++k) order[k] = k;
    std::sort(order.begin(), order.end(), [&](auto a, auto b) {
        return tops[a].height > tops[b].height;
    });
    for (std::size_t const k : order) {
        double nearest = INFINITY;
        for (std::size_t j = 0; j < old.size(); ++j)
            if (double const away = std::abs(s.survey.time(old[j].top) - tops[k].t);
                !taken[j] && away < nearest)
                nearest = away, owner[k] = j;
        if (owner[k] < old.size()) taken[owner[k]] = true;
    }
    auto const& y = r.above;
    for (std::size_t k = 0; k < shapes.size(); ++k) {
        Region p;
        bool const known = owner[k] < old.size();
        if (known) p = old[owner[k]];
        if (!known) {
            auto const scale = std::hypot(shapes[k].sigma, 0.7 * shapes[k].tau);
            p.candidate = {tops[k].t, scale, tops[k].height, tops[k].height / s.noise};
            p.top = std::clamp(s.survey.index(tops[k].t), s.first + 1, s.last - 2);
            p.width_s = tops[k].width_half_s;
            p.shape = {tops[k].t, tops[k].height, tops[k].width_half_s};
            p.shape.front_half_s = 0.5 * tops[k].width_half_s;
            auto const reach = std::max<std::size_t>(2, quiet_half(3 * p.width_s, s.survey.dt));
            p.shoulder = mean_at(y, p.top, reach / 2) <=
                         std::max(mean_at(y, p.top - std::min(p.top, reach), reach / 2),
                                  mean_at(y, std::min(p.top + reach, y.size() - 1), reach / 2));
        }
        p.told = shapes[k];
        p.joined_before = k > 0 || old.front().joined_before;
        p.joined_after = k + 1 < shapes.size() || old.back().joined_after;
        p.first = s.first, p.last = s.last;
        out.push_back(p);
    }
    // A place seen by the old search may lie on the wrong side of a neighbour's.
    for (std::size_t k = 0; k < out.size(); ++k)
        if ((k > 0 && out[k].top <= out[k - 1].top + 2) ||
            (k + 1 < out.size() &&
             std::abs(s.survey.time(out[k].top) - tops[k].t) > 0.5 * tops[k].width_half_s))
            out[k].top = std::clamp(s.survey.index(tops[k].t), s.first + 1, s.last - 2);
    for (std::size_t k = 0; k + 1 < out.size(); ++k)
        if (out[k + 1].top <= out[k].top + 2) return {};
    // Borders where one shape takes over from the other.
    for (std::size_t k = 0; k + 1 < out.size(); ++k) {
        std::size_t border = out[k].top + 1;
        while (border < out[k + 1].top && value(shapes[k], s.survey.time(border)) >
                                              value(shapes[k + 1], s.survey.time(border)))
            ++border;
        out[k].last = out[k + 1].first = std::max(border, out[k].top + 1);
    }
    return out;
}

// The peaks of a cluster when the shapes of those that were seen do not describe it.
std::optional<std::vector<Emg>> told_shapes(Search const& search,
                                            std::vector<Emg> const& start,
                                            std::vector<Region> const& seen) {
    auto fit = search.fit(start);
    double least = fit.converged ? Misfit(fit).cost : INFINITY;
    std::optional<std::vector<Emg>> shapes;
    auto const go_on = [&](ClusterFit from) {
        for (int more = 0; more < 3 && from.converged; ++more) {
            auto const found = one_more(search, from);
            if (!found) break;
            from = search.fit(*found);
            if (double const cost = Misfit(from).cost; from.converged && cost < least)
                least = cost, shapes = from.peaks;
        }
    };
    // The same number of peaks from other guesses, when the fit may have ended in a side valley:
    // the columns make neighbours alike.
    bool const shoulders =
        std::any_of(seen.begin(), seen.end(), [](Region const& p) { return p.shoulder; });
    bool const astray = start.size() > 1 && Misfit(fit).excess > 2.5 * Misfit(fit).scatter;
    if (shoulders || astray || !fit.converged) {
        auto const tallest =
            *std::max_element(start.begin(), start.end(), [](Emg const& a, Emg const& b) {
                return a.area / a.sigma < b.area / b.sigma;
            });
        for (double const tail : {0.3, 1.0})
            for (double const width : {0.8, 1.0}) {
                auto alike = start;
                for (auto& p : alike)
                    p.area *= tallest.sigma / p.sigma, p.sigma = width * tallest.sigma,
                                                       p.tau = tail * p.sigma, p.mu -= 0.5 * p.tau;
                auto other = search.fit(alike, 0.97 * least);
                double const cost = Misfit(other).cost;
                if (!other.converged || !(cost < 0.97 * least) || !stands(search, other)) continue;
                fit = std::move(other), least = cost, shapes = fit.peaks;
            }
    }
    go_on(fit);
    // A shoulder seen in the wrong place, or as narrow as a ripple, leads the fit astray: without
    // any, they are looked for anew.
    std::vector<Emg> tops_only;
    for (std::size_t k = 0; k < seen.size(); ++k)
        if (!seen[k].shoulder) tops_only.push_back(start[k]);
    if (tops_only.size() < seen.size() && !tops_only.empty() &&
        !(Misfit(fit).excess < 10 * Misfit(fit).scatter))
        go_on(search.fit(tops_only));
    return shapes;
}

}  // namespace

bool add_hidden_peaks(Survey const& survey, Regions& regions, std::span<float const> raw) {
    bool added = false;
    std::vector<Region> all;
    for (auto const& c : clusters(regions.peaks)) {
        std::vector<Region> kept(regions.peaks.begin() + static_cast<std::ptrdiff_t>(c.first),
                                 regions.peaks.begin() + static_cast<std::ptrdiff_t>(c.last));
        bool const fit_to_search =
            kept.size() <= most_peaks && kept.back().last >= kept.front().first + 12 &&
            !has_gap(survey, kept.front().first, kept.back().last) && kept.front().first > 0 &&
            std::all_of(kept.begin(), kept.end(), [&](Region const& p) {
                return p.sign > 0 && !is_saturated(survey, raw, p) && !cut_of(survey, regions, p);
            });
        if (fit_to_search) {
            Search const search(survey, regions, c);
            auto const shapes = told_shapes(search, first_shapes(survey, regions, c), kept);
            if (shapes)
                if (auto told = regions_of(search, *shapes); !told.empty())
                    kept = std::move(told), added = true;
        }
        all.insert(all.end(), kept.begin(), kept.end());
    }
    regions.peaks = std::move(all);
    return added;
}

}  // namespace gw::trace
