#include "trace/follow.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "trace/clusters.hpp"
#include "trace/followed_shape.hpp"
#include "trace/peak_plan.hpp"
#include "trace/shared_area.hpp"

namespace gw::trace {

namespace {

// What the noise may do once in a few hundred runs; a peak that the careful search would report
// stands further above it in one of the sums.
constexpr double far = 5.0;
// A shape may differ from the one before by so much of itself: columns age by less in a day.
constexpr double shape_tolerance = 3e-4;

// Kept from run to run: nothing is allocated for a run but its answer.
struct Work {
    std::vector<float> sums, shape, rest, tolerance, scratch;
    LaidGround ground;
    std::vector<FollowedFit> fits;
    std::vector<ClusterFit> clusters;
    std::vector<double> cluster;
    SumLimits limits;
};

class Follow {
  public:
    Follow(PeakPlan const& plan,
           Trace const& trace,
           int detector,
           PeakOptions const& options,
           Work& work)
        : plan_(plan),
          y_(trace.signals[static_cast<std::size_t>(detector - 1)]),
          options_(options),
          work_(work) {}

    // Null when followed, else why not.
    char const* run(DetectorPeaks& out) {
        if (auto const* why = background_as_expected()) return why;
        FollowedFit fit;
        auto& fits = work_.fits;
        fits.clear(), work_.clusters.clear();
        for (auto const& p : plan_.peaks) {
            // Begun at the shift of the peak before.
            if (p.cluster) {
                if (*p.cluster == work_.clusters.size() && !fit_cluster_of(p, fit.shift))
                    return "overlapped peaks of another form";
                fit = as_fitted(p, fits.size());
            } else if (!fit_core(y_,
                                 plan_.from,
                                 level_,
                                 p.rows,
                                 p.core_from,
                                 most_shift * p.peak.width_half_s / plan_.interval_s,
                                 fit)) {
                return "a peak that is not where it was";
            }
            fits.push_back(fit);
        }
        if (!neighbours_parted()) return "a peak that is not where it was";
        for (std::size_t k = 0; k < fits.size(); ++k)
            if (auto const* why = peak_as_expected(plan_.peaks[k], fits[k])) return why;
        measure(out);
        return nullptr;
    }

  private:
    bool fit_cluster_of(PlannedPeak const& p, double shift) {
        auto const& planned = plan_.clusters[*p.cluster];
        double const dt = plan_.interval_s;
        std::size_t const from = moved(planned.from, shift), to = moved(planned.to, shift);
        auto& above = work_.cluster;
        above.clear();
        for (std::size_t i = from; i < to; ++i)
            above.push_back(static_cast<double>(y_[i] - plan_.from) -
                            level_at(level_, static_cast<double>(i)));
        std::vector<std::pair<std::size_t, std::size_t>> ignored;
        double const from_s = plan_.start_s + static_cast<double>(from) * dt;
        auto const sample = [&](double t) {
            return static_cast<std::size_t>(
                std::clamp((t - from_s) / dt, 0.0, static_cast<double>(to - from)));
        };
        for (auto const& e : options_.events)
            if (std::size_t const low = sample(e.at_s - event_before_s),
                high = sample(e.at_s + event_after_s + dt);
                low < high)
                ignored.emplace_back(low, high);
        auto fit = fit_again(
            planned, above, from_s, dt, shift * dt, std::max(rms_, fast_), std::move(ignored));
        if (!fit) return false;
        work_.clusters.push_back(*std::move(fit));
        return true;
    }

    [[nodiscard]] FollowedFit as_fitted(PlannedPeak const& p, std::size_t k) const {
        auto const& planned = plan_.clusters[*p.cluster];
        auto const &was = planned.shapes[k - planned.first_peak],
                   &is = work_.clusters[*p.cluster].peaks[k - planned.first_peak];
        FollowedFit out;
        out.amount = is.area / was.area;
        out.shift = (centre_of(is) - centre_of(was)) / plan_.interval_s;
        out.stretch = width_of(is) / width_of(was) - 1;
        return out;
    }

    [[nodiscard]] std::size_t moved(std::size_t sample, double shift) const {
        return static_cast<std::size_t>(std::clamp(
            static_cast<double>(sample) + std::round(shift), 0.0, static_cast<double>(y_.size())));
    }

    // A kept shape holds its neighbours' share as it was: what they have more or less of now is no
    // part of the peak. Each turn leaves less than a third of what the one before left.
    bool neighbours_parted() {
        auto& fits = work_.fits;
        for (int turn = 0; turn < 4; ++turn)
            for (std::size_t k = 0; k < fits.size(); ++k) {
                auto const& p = plan_.peaks[k];
                if (p.spills.empty()) continue;
                auto products = fits[k].products;
                for (auto const& spill : p.spills)
                    for (std::size_t r = 0; r < 3; ++r)
                        products[r] -= (fits[spill.of].amount - fits[k].amount) * spill.in_rows[r];
                if (!solve(p.rows, products, fits[k])) return false;
            }
        return true;
    }

    [[nodiscard]] std::size_t blocks_in(double seconds) const {
        return std::max<std::size_t>(
            1, static_cast<std::size_t>(seconds / (plan_block * plan_.interval_s)));
    }

    char const* noise_as_expected() {
        auto const rough = roughness(y_, plan_.free);
        double const mean = rough.total / plan_.rough_samples;
        // Third differences of white noise have twenty times its variance.
        double const white = std::sqrt(plan_.roughness / 20);
        if (white > 0.3 * plan_.fast) {
            scale_ = std::sqrt(mean / plan_.roughness);
            if (!(scale_ > 0.7 && scale_ < 1.4)) return "another noise";
        } else if (mean > 20 * plan_.fast * plan_.fast) {
            return "another noise";
        }
        fast_ = plan_.fast * scale_, rms_ = plan_.rms * scale_;
        if (static_cast<double>(rough.most) > 20 * 80 * fast_ * fast_) return "a spike or a jump";
        double const sigma = std::max(rms_, fast_),
                     slow_sigma = sigma * std::sqrt(std::max(1.0, plan_.slow));
        std::size_t const slow_from = blocks_in(0.5);
        std::size_t width = 1;
        for (float& limit : work_.limits.noise) {
            limit = static_cast<float>(far * (width >= slow_from ? slow_sigma : sigma) *
                                       std::sqrt(static_cast<double>(width * plan_block)));
            width *= 2;
            if (width > plan_.samples) break;
        }
        return nullptr;
    }

    char const* background_as_expected() {
        if (auto const* why = noise_as_expected()) return why;
        std::size_t const blocks = y_.size() / plan_block;
        work_.sums.resize(blocks + blocks_behind);
        work_.scratch.resize(2 * (blocks + 32));
        block_sums(y_, plan_.from, work_.sums.data());
        plan_.ground.lay(work_.sums, work_.ground);
        level_ = std::span(work_.ground.level).first(blocks);
        above_ = work_.ground.above;
        std::size_t const two = blocks_in(2);
        double squares = 0, stretches = 0;
        for (auto const& free : plan_.free) {
            for (std::size_t i = free.first; i + two <= free.last; i += two) {
                double const sum = block_total(i, i + two);
                squares += sum * sum / (fast_ * fast_ * static_cast<double>(two * plan_block));
                stretches += 1;
            }
            if (stands_out(above_.data() + free.first,
                           nullptr,
                           free.last - free.first,
                           work_.limits,
                           1,
                           work_.scratch.data()))
                return "something where nothing stood";
        }
        slow_ = stretches < 6 ? 1 : std::max(1.0, squares / stretches);
        if (slow_ > 2.5) return "a background that wanders";
        for (auto const& d : plan_.disturbed)
            for (std::size_t b = d.first; b < d.last; ++b)
                if (std::abs(static_cast<double>(above_[b]) / plan_block) > 3 * d.most + 10 * rms_)
                    return "another kick";
        return nullptr;
    }

    char const* peak_as_expected(PlannedPeak const& p, FollowedFit const& fit) {
        if (!(fit.amount > 0.5 && fit.amount < 2)) return "a peak of another size";
        if (fit.amount * p.peak.height < 6 * rms_) return "a peak hardly above the noise";
        double const half = p.peak.width_half_s / plan_.interval_s;
        double const most_stretch = p.cluster ? 0.15 : 0.02;
        if (std::abs(fit.shift) > most_shift * half || std::abs(fit.stretch) > most_stretch)
            return "a peak that moved or widened";
        double const highest = fit.amount * p.peak.height + level_at(level_, p.top + fit.shift) +
                               static_cast<double>(plan_.from);
        if (options_.range_high && highest > 0.99 * *options_.range_high) return "clipping";
        if (p.cluster) return nullptr;  // its fit was held against the planned one's
        std::size_t const first = (p.from + plan_block - 1) / plan_block, last = p.to / plan_block;
        if (first >= last) return nullptr;
        // What is left of each whole block in the window when the shape is taken off.
        std::size_t const blocks = last - first;
        work_.shape.assign(in_eights(blocks), 0.0F);
        work_.rest.resize(in_eights(blocks)), work_.tolerance.resize(in_eights(blocks));
        auto const begin = static_cast<std::ptrdiff_t>(first * plan_block - p.origin);
        Between const at(-fit.shift);
        auto const add = [&](ShapeSums const& sums, double amount) {
            add_taps(at.taps(sums, begin, amount), blocks, work_.shape.data());
        };
        add(p.sums, fit.amount);
        if (fit.stretch != 0) add(p.wider.linear, fit.amount * fit.stretch);
        // Below that the square moves no flank by a millionth of the height.
        if (std::abs(fit.stretch) > 3e-4)
            add(p.wider.square, fit.amount * fit.stretch * fit.stretch);
        // The kept shape holds the neighbours' share as it was; what they have more or less of now
        // is added.
        for (auto const& spill : p.spills)
            add(spill.sums, work_.fits[spill.of].amount - fit.amount);
        rest_of(above_.data() + first,
                work_.shape.data(),
                blocks,
                static_cast<float>(shape_tolerance),
                work_.rest.data(),
                work_.tolerance.data());
        if (stands_out(work_.rest.data(),
                       work_.tolerance.data(),
                       blocks,
                       work_.limits,
                       static_cast<float>(std::sqrt(1 + fit.amount * fit.amount)),
                       work_.scratch.data()))
            return "a peak of another shape";
        return nullptr;
    }

    // What a form leaves in doubt comes from the neighbours too.
    [[nodiscard]] double most_amount(PlannedPeak const& p, std::size_t k) const {
        double most = work_.fits[k].amount;
        if (!p.cluster) return most;
        auto const& c = plan_.clusters[*p.cluster];
        for (std::size_t j = c.first_peak; j < c.last_peak; ++j)
            most = std::max(most, work_.fits[j].amount);
        return most;
    }

    // Of what the blocks [first, last) are above the background.
    [[nodiscard]] double block_total(std::size_t first, std::size_t last) const {
        double even = 0, odd = 0;
        std::size_t b = first;
        for (; b + 2 <= last; b += 2)
            even += static_cast<double>(above_[b]), odd += static_cast<double>(above_[b + 1]);
        if (b < last) even += static_cast<double>(above_[b]);
        return even + odd;
    }

    // Of samples [first, last), less than a block.
    [[nodiscard]] double sample_total(std::size_t first, std::size_t last) const {
        double sum = 0;
        for (std::size_t i = first; i < last; ++i) sum += static_cast<double>(y_[i] - plan_.from);
        auto const count = static_cast<double>(last - first);
        return sum - count * level_at(level_, static_cast<double>(first) + 0.5 * (count - 1));
    }

    [[nodiscard]] double sum_above(std::size_t first, std::size_t last) const {
        std::size_t const from = (first + plan_block - 1) / plan_block, to = last / plan_block;
        if (from >= to) return first < last ? sample_total(first, last) : 0;
        return sample_total(first, from * plan_block) + block_total(from, to) +
               sample_total(to * plan_block, last);
    }

    void measure(DetectorPeaks& out) const {
        double const dt = plan_.interval_s;
        // Slower noise than the plan's makes every area less sure; of less there is no proof.
        double const slow = std::sqrt(std::max(1.0, slow_ / std::max(1.0, plan_.slow)));
        std::size_t border = 0;  // of the peak before
        out.peaks.reserve(plan_.peaks.size());
        for (std::size_t k = 0; k < plan_.peaks.size(); ++k) {
            auto const& p = plan_.peaks[k];
            auto const& fit = work_.fits[k];
            std::size_t const first = p.joined_before && k > 0 ? border : moved(p.first, fit.shift);
            std::size_t const last =
                p.joined_after && k + 1 < work_.fits.size()
                    ? moved(p.last, 0.5 * (fit.shift + work_.fits[k + 1].shift))
                    : moved(p.last, fit.shift);
            border = last;
            auto& peak = out.peaks.emplace_back(p.peak);
            // The borders move by whole samples, the shapes by parts of one: what that carries
            // across them is their height there.
            double moved_area = 0;
            if (!p.spills.empty()) {
                double const left = static_cast<double>(first) - static_cast<double>(p.first),
                             right = static_cast<double>(last) - static_cast<double>(p.last);
                moved_area =
                    fit.amount *
                    (p.beyond + dt * (p.left * (left - fit.shift) - p.right * (right - fit.shift)));
                for (auto const& spill : p.spills) {
                    auto const& of = work_.fits[spill.of];
                    moved_area -= of.amount * (spill.area + dt * (spill.right * (right - of.shift) -
                                                                  spill.left * (left - of.shift)));
                }
            }
            if (p.cluster) {
                auto const time = [&](std::size_t i) {
                    return plan_.start_s + (static_cast<double>(i) - 0.5) * dt;
                };
                moved_area = carried(work_.clusters[*p.cluster],
                                     k - plan_.clusters[*p.cluster].first_peak,
                                     time(first),
                                     time(last))
                                 .area;
            }
            peak.area = sum_above(first, last) * dt + moved_area;
            peak.flags.fitted = std::abs(moved_area) > 1e-4 * std::abs(peak.area);
            peak.area_u = std::hypot(p.u_noise * scale_ * slow, p.u_shape * most_amount(p, k));
            peak.start_s += dt * (static_cast<double>(first) - static_cast<double>(p.first));
            peak.end_s += dt * (static_cast<double>(last) - static_cast<double>(p.last));
            peak.apex_s += dt * fit.shift;
            peak.height *= fit.amount / (p.cluster ? 1 + fit.stretch : 1);
            peak.width_half_s *= 1 + fit.stretch;
        }
        for (std::size_t k = 0; k + 1 < out.peaks.size(); ++k) {
            auto &a = out.peaks[k], &b = out.peaks[k + 1];
            a.resolution_next = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        }
        out.noise = {rms_, plan_.noise.drift_per_s};
        out.kicks = plan_.kicks, out.steps = plan_.steps;
        auto const& steps = work_.ground.steps;
        for (std::size_t k = 0; k < plan_.fitted_steps.size(); ++k)
            out.steps[plan_.fitted_steps[k]].step = steps[k];
        if (level_.size() > 1)
            out.noise.drift_per_s = (level_.back() - level_.front() -
                                     std::accumulate(steps.begin(), steps.end(), 0.0)) /
                                    (static_cast<double>((level_.size() - 1) * plan_block) * dt);
    }

    PeakPlan const& plan_;
    std::span<float const> y_;
    PeakOptions const& options_;
    Work& work_;
    std::span<double const> level_;
    std::span<float const> above_;
    double scale_ = 1, fast_{}, rms_{}, slow_ = 1;
};

}  // namespace

struct PeakFollower::State {
    struct Known {
        int detector{};
        PeakPlan plan;
    };
    std::vector<Known> plans;  // the one used last first
    Work work;
};

PeakFollower::PeakFollower() : state_(std::make_unique<State>()) {}
PeakFollower::~PeakFollower() = default;
PeakFollower::PeakFollower(PeakFollower&&) noexcept = default;
PeakFollower& PeakFollower::operator=(PeakFollower&&) noexcept = default;

DetectorPeaks PeakFollower::find(Trace const& trace, int detector, PeakOptions const& options) {
    constexpr std::size_t most_plans = 8;  // streams and calibration gas take turns
    auto& plans = state_->plans;
    reason_ = "nothing to follow yet";
    if (trace.gaps.empty() && detector >= 1 &&
        static_cast<std::size_t>(detector) <= trace.signals.size()) {
        for (auto known = plans.begin(); known != plans.end(); ++known) {
            auto const& plan = known->plan;
            if (known->detector != detector || plan.samples != trace.samples() ||
                plan.interval_s != trace.interval_s || plan.start_s != trace.start_s)
                continue;
            DetectorPeaks out;
            Follow follow(plan, trace, detector, options, state_->work);
            if (auto const* why = follow.run(out)) {
                reason_ = why;
                continue;
            }
            reason_.clear();
            out.warnings = trace.warnings;
            std::rotate(plans.begin(), known, known + 1);
            ++followed_;
            return out;
        }
    }
    ++careful_;
    Settled settled;
    auto out = find_peaks(trace, detector, options, &settled);
    std::string no_plan;
    if (auto plan = peak_plan(trace, detector, out, settled, no_plan)) {
        if (plans.size() == most_plans) plans.pop_back();
        plans.insert(plans.begin(), {detector, *std::move(plan)});
    } else {
        reason_ += "; not to be followed: " + no_plan;
    }
    return out;
}

}  // namespace gw::trace
