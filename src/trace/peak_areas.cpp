#include "trace/peak_areas.hpp"

#include "trace/area_by_shape.hpp"
#include "trace/area_noise.hpp"
#include "trace/cluster_fit.hpp"
#include "trace/clusters.hpp"
#include "trace/cut_loss.hpp"
#include "trace/form_doubt.hpp"
#include "trace/peak_flags.hpp"
#include "trace/shared_area.hpp"

namespace gw::trace {

namespace {

struct Share {
    double area{}, correction{}, u_shape{};
    std::size_t from{};          // sample of weight[0]
    std::vector<double> weight;  // of each sample in the area
    Baseline baseline = Baseline::straight;
    bool fitted = false, rider = false;
    PeakShape shape;
    SharedShape shared;
    std::optional<AreaEstimate> by_shape;
};

double sum_between(std::vector<double> const& r, std::size_t first, std::size_t last, double dt) {
    double sum = 0;
    for (std::size_t i = first; i < last; ++i) sum += r[i];
    return sum * dt;
}

// Rectangle sums count sample i for [i - 1/2, i + 1/2): a border between samples lies there.
double border_time(Survey const& s, std::size_t i) { return s.time(i) - 0.5 * s.dt; }

// Height of the signal at the border after peak k.
double valley_after(Survey const& s, Regions const& r, std::size_t k) {
    return std::abs(r.above[std::min(r.peaks[k].last, s.y.size() - 1)]);
}

// d(area before t) by area, mu, sigma and tau.
std::array<double, 4> area_before_by(Emg const& p, double t) {
    auto const by = [&](double Emg::*member, double step) {
        Emg low = p, high = p;
        low.*member -= step, high.*member += step;
        return (area_before(high, t) - area_before(low, t)) / (2 * step);
    };
    return {area_before(p, t) / p.area,
            -value(p, t),
            by(&Emg::sigma, 1e-4 * p.sigma),
            by(&Emg::tau, 0.01 * p.tau)};
}

// How a correction follows the signal through the fit: its derivatives by every parameter of the
// cluster, and what each parameter takes from each mean of samples.
class Correction {
  public:
    Correction(ClusterFit const& fit, double dt)
        : fit_(fit), dt_(dt), by_(fit.response.size(), 0.0) {}
    void add(std::size_t peak, double sign, double t) {
        auto const d = area_before_by(fit_.peaks[peak], t);
        for (std::size_t p = 0; p < 4; ++p) by_[4 * peak + p] += sign * d[p];
    }
    void add_whole(std::size_t peak) { by_[4 * peak] += 1; }
    // What the bonds between neighbours leave in doubt.
    [[nodiscard]] double u_bonds() const {
        double squares = 0;
        for (std::size_t i = 0; !fit_.bond_response.empty() && i < fit_.bond_response[0].size();
             ++i) {
            double sum = 0;
            for (std::size_t p = 0; p < by_.size(); ++p) sum += by_[p] * fit_.bond_response[p][i];
            squares += sum * sum;
        }
        return std::sqrt(squares);
    }
    // Onto weights whose first is that of the first sample the fit saw.
    void put_on(std::vector<double>& weight) const {
        if (fit_.response.empty()) return;
        for (std::size_t i = 0; i < fit_.response.front().size(); ++i) {
            double sum = 0;
            for (std::size_t p = 0; p < by_.size(); ++p) sum += by_[p] * fit_.response[p][i];
            double const each = sum / (static_cast<double>(fit_.block) * dt_);
            std::size_t const from = fit_.first + i * fit_.block;
            for (std::size_t k = from; k < from + fit_.block; ++k) weight[k] += each;
        }
    }

  private:
    ClusterFit const& fit_;
    double dt_;
    std::vector<double> by_;
};

ClusterFit fitted_shapes(Survey const& s, Regions const& r, Cluster const& c) {
    std::size_t const first = r.peaks[c.first].first, last = r.peaks[c.last - 1].last;
    ClusterFitOptions options;
    options.responses = options.one_column = true;
    options.ignored = disturbed_samples(s, first, last);
    return fit_cluster(std::span<double const>(r.above).subspan(first, last - first),
                       s.time(first),
                       s.dt,
                       std::max(r.rms, s.fast),
                       first_shapes(s, r, c),
                       options);
}

// Each peak gives its neighbours what its shape has beyond its borders, and gets the same from
// them. A shape that does not describe its peak keeps to its borders.
void share_out(Survey const& s,
               Regions const& r,
               Cluster const& c,
               ClusterFit const& fit,
               double form,
               std::vector<Share>& shares) {
    std::size_t const first = r.peaks[c.first].first, last = r.peaks[c.last - 1].last;
    double const error = std::max(form, form_error(s, r, first, last, fit.peaks));
    for (std::size_t k = c.first; k < c.last; ++k) {
        auto const& p = r.peaks[k];
        auto& share = shares[k];
        double const left = border_time(s, p.first), right = border_time(s, p.last);
        std::size_t const own = k - c.first, count = c.last - c.first;
        auto const part = carried(fit, own, left, right);
        share.correction += part.area,
            share.u_shape = std::hypot(share.u_shape, part.u, form_doubt(fit.peaks, own, error));
        Correction moved(fit, s.dt);
        for (std::size_t j = 0; j < count; ++j)
            if (j != own && trusted(fit, j)) moved.add(j, -1, right), moved.add(j, 1, left);
        if (trusted(fit, own) && own > 0) moved.add(own, 1, left);
        if (trusted(fit, own) && own + 1 < count) moved.add_whole(own), moved.add(own, -1, right);
        share.area += share.correction;
        share.weight.insert(share.weight.begin(), p.first - first, 0.0);
        share.weight.resize(last - first, 0.0);
        share.from = first;
        moved.put_on(share.weight);
        if (trusted(fit, own) && describes(fit))
            share.by_shape = area_of_shape(fit, own, first, last - first, s.dt);
        share.u_shape = std::hypot(share.u_shape, moved.u_bonds());
        if (trusted(fit, own)) share.shared.shape = fit.peaks[own];
        share.shared.excess = fit.excess();
        share.shared.cluster_first = c.first, share.shared.cluster_last = c.last;
        // Worth the name only where the shapes moved the area or the drop was no clean cut.
        share.fitted = std::abs(share.correction) > 1e-4 * std::abs(share.area);
        if (share.fitted) share.baseline = Baseline::fitted;

        double const before = k > c.first ? valley_after(s, r, k - 1) : 0,
                     after = k + 1 < c.last ? valley_after(s, r, k) : 0;
        if (std::max(before, after) < 0.005 * std::abs(p.shape.height)) continue;
        std::vector<double> alone(r.above.begin() + static_cast<std::ptrdiff_t>(first),
                                  r.above.begin() + static_cast<std::ptrdiff_t>(last));
        for (std::size_t j = c.first; j < c.last; ++j)
            for (std::size_t i = 0; j != k && trusted(fit, j - c.first) && i < alone.size(); ++i)
                alone[i] -= value(fit.peaks[j - c.first], s.time(first + i));
        auto const smooth = std::abs(p.shape.height) > 200 * r.rms
                                ? 0
                                : static_cast<std::size_t>(p.candidate.scale_s / (10 * s.dt));
        share.shape =
            peak_shape(alone, 0, alone.size(), p.top - first, p.sign, s.time(first), s.dt, smooth);
    }
}

// The means about two samples enter an area with this weight each.
void take_line(Share& share,
               std::size_t first,
               std::size_t end,
               std::size_t half,
               double weight,
               std::size_t samples) {
    for (std::size_t const middle : {first, end}) {
        std::size_t const h = std::min({half, middle, samples - 1 - middle});
        std::size_t const low = middle - h, high = middle + h;
        if (low < share.from) {
            share.weight.insert(share.weight.begin(), share.from - low, 0.0);
            share.from = low;
        }
        share.weight.resize(std::max(share.weight.size(), high + 1 - share.from), 0.0);
        for (std::size_t i = low; i <= high; ++i)
            share.weight[i - share.from] += weight / static_cast<double>(2 * h + 1);
    }
}

// Without shapes: a small peak on the tail of a big one is what stands above the line from valley
// to end.
void skim_riders(Survey const& s, Regions const& r, Cluster const& c, std::vector<Share>& shares) {
    for (std::size_t k = c.first + 1; k < c.last; ++k) {
        auto const &big = r.peaks[k - 1], &small = r.peaks[k];
        bool const next_is_lower =
            k + 1 == c.last || std::abs(r.peaks[k + 1].shape.height) < std::abs(small.shape.height);
        double const height = std::abs(small.shape.height), valley = valley_after(s, r, k - 1);
        if (height > 0.1 * std::abs(big.shape.height) || valley < 0.2 * height || !next_is_lower)
            continue;
        std::size_t const end = std::min(small.last, s.y.size() - 1),
                          half = std::min(quiet_half(small.width_s, s.dt), small.first);
        double const width = static_cast<double>(small.last - small.first) * s.dt;
        double const under =
            0.5 * width * (mean_at(r.above, small.first, half) + mean_at(r.above, end, half));
        if (std::abs(under) > 0.6 * std::abs(shares[k].area)) continue;
        shares[k].area -= under, shares[k - 1].area += under;
        take_line(shares[k], small.first, end, half, -0.5 * width / s.dt, s.y.size());
        take_line(shares[k - 1], small.first, end, half, 0.5 * width / s.dt, s.y.size());
        shares[k].baseline = Baseline::skim;
        shares[k].rider = true;
    }
}

}  // namespace

namespace {

bool is_whole_and_alone(Survey const& s,
                        Regions const& r,
                        std::span<float const> raw,
                        Region const& p) {
    return !p.joined_before && !p.joined_after && p.sign > 0 && p.first > 0 &&
           p.last < s.y.size() && !is_saturated(s, raw, p) && !has_gap(s, p) && !cut_of(s, r, p);
}

}  // namespace

std::vector<Peak> measured_peaks(Survey const& s,
                                 Regions const& r,
                                 std::span<float const> raw,
                                 int detector,
                                 std::vector<SharedShape>* shapes_out) {
    std::vector<Share> shares(r.peaks.size());
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        shares[k].area = sum_between(r.above, r.peaks[k].first, r.peaks[k].last, s.dt);
        shares[k].shape = r.peaks[k].shape;
        shares[k].from = r.peaks[k].first;
        shares[k].weight.assign(r.peaks[k].last - r.peaks[k].first, 1.0);
    }
    std::optional<double> form;
    for (auto const& c : clusters(r.peaks)) {
        if (c.last - c.first < 2) continue;
        bool shapes = c.last - c.first <= 20;
        for (std::size_t k = c.first; k < c.last; ++k) {
            shapes = shapes && r.peaks[k].sign > 0 && !is_saturated(s, raw, r.peaks[k]);
            if (k + 1 < c.last)
                shares[k].baseline = shares[k + 1].baseline =
                    valley_after(s, r, k) < 3 * r.rms ? Baseline::valley : Baseline::drop;
        }
        if (shapes) {
            auto const fit = fitted_shapes(s, r, c);
            shapes = fit.converged;
            if (shapes && !form) form = form_error(s, r);
            if (shapes) share_out(s, r, c, fit, *form, shares);
        }
        if (!shapes) skim_riders(s, r, c, shares);
    }
    AreaNoise const noise(s, r);

    std::vector<double> u_noise;
    for (std::size_t k = 0; k < shares.size(); ++k) {
        auto& share = shares[k];
        auto const of_sum = noise.spread(share.from, std::move(share.weight));
        share.shared.u_noise = noise.u(of_sum), share.shared.u_shape = share.u_shape;
        u_noise.push_back(share.shared.u_noise);
        auto shape = share.by_shape;
        if (!shape && is_whole_and_alone(s, r, raw, r.peaks[k]))
            shape = area_by_shape(s, r, r.peaks[k]);
        if (!shape) continue;
        auto const better = believed(noise, share.area, of_sum, share.shared.u_noise, *shape);
        if (!better) continue;
        if (std::abs(better->area - share.area) > 1e-4 * std::abs(share.area)) share.fitted = true;
        share.area = better->area;
        u_noise.back() = better->u_noise;
        share.u_shape = std::hypot(share.u_shape, better->doubt);
    }
    if (shapes_out != nullptr) {
        shapes_out->clear();
        for (auto const& share : shares) shapes_out->push_back(share.shared);
    }
    std::vector<Peak> out;
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        auto const& p = r.peaks[k];
        auto const& share = shares[k];
        Peak peak;
        peak.detector = detector;
        peak.start_s = s.time(p.first);
        peak.apex_s = share.shape.apex_s;
        peak.end_s = s.time(std::min(p.last, s.y.size()) - 1);
        peak.area = share.area;
        peak.height = share.shape.height;
        peak.width_half_s = share.shape.width_half_s;
        peak.asymmetry = share.shape.asymmetry;
        peak.tailing = share.shape.tailing;
        peak.baseline = share.baseline;
        peak.area_u = std::hypot(u_noise[k], share.u_shape);
        peak.flags.negative = p.sign < 0;
        peak.flags.shoulder = p.shoulder;
        peak.flags.fitted = share.fitted;
        peak.flags.rider = share.rider;
        peak.flags.saturated = is_saturated(s, raw, p);
        if (auto const place = cut_of(s, r, p)) {
            peak.flags.cut = true;
            peak.cut = cut_loss(s, r, p, *place, peak.area);
        }
        peak.flags.gap = has_gap(s, p);
        out.push_back(peak);
    }
    for (std::size_t k = 0; k + 1 < out.size(); ++k) {
        auto &a = out[k], &b = out[k + 1];
        a.resolution_next = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        // Below one, equal peaks keep a valley of a fourth of their height or more.
        if (*a.resolution_next < 1.0 && r.peaks[k].joined_after)
            a.flags.merged = b.flags.merged = true;
    }
    return out;
}

}  // namespace gw::trace
