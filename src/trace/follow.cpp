#include "trace/follow.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "trace/followed_shape.hpp"
#include "trace/peak_plan.hpp"

namespace gw::trace {

namespace {

// What the noise may do once in a few hundred runs; a peak that the careful search would report
// stands further above it in one of the sums.
constexpr double far = 5.0;
// A shape may differ from the one before by so much of itself: columns age by less in a day.
constexpr double shape_tolerance = 3e-4;

struct Work {
    BlockSums sums;
    std::vector<double> spline, level, steps, rest, tolerance;
    std::vector<FollowedFit> fits;
};

// Whether any sum over 1, 2, 4 ... neighbouring blocks stands further from zero than noise and
// tolerance allow.
bool stands_out(std::vector<double>& rest,
                std::vector<double>& tolerance,
                double sigma,
                double slow_sigma,
                std::size_t slow_from) {
    tolerance.resize(rest.size());
    // Each round halves the places and doubles the width: rest[i] is the sum of `width` blocks from
    // i x stride on, and neighbours overlap by half.
    for (std::size_t width = 1, stride = 1; !rest.empty(); width *= 2) {
        double const noise = far * (width >= slow_from ? slow_sigma : sigma) *
                             std::sqrt(static_cast<double>(width * plan_block));
        for (std::size_t i = 0; i < rest.size(); ++i)
            if (std::abs(rest[i]) > noise + tolerance[i]) return true;
        std::size_t const next = width / stride;  // places on: the block behind this one
        std::size_t const step = width == 1 ? 1 : 2;
        std::size_t count = 0;
        for (std::size_t i = 0; i + next < rest.size(); i += step, ++count) {
            rest[count] = rest[i] + rest[i + next];
            tolerance[count] = tolerance[i] + tolerance[i + next];
        }
        rest.resize(count), tolerance.resize(count);
        stride *= step;
    }
    return false;
}

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
        out.peaks.reserve(plan_.peaks.size());
        FollowedFit before;
        auto& fits = work_.fits;
        fits.clear();
        for (auto const& p : plan_.peaks) {
            FollowedFit fit;
            fit.shift = before.shift;
            // A small peak does not tell its own shift: that of the one before it does.
            bool const moves = p.peak.height > 30 * plan_.rms;
            if (!fit_core(y_, work_.level, p, moves, fit)) return "a peak that is not where it was";
            fits.push_back(fit);
            before = fit;
        }
        for (std::size_t k = 0; k < fits.size(); ++k)
            if (auto const* why = peak_as_expected(plan_.peaks[k], fits[k])) return why;
        measure(out);
        return nullptr;
    }

  private:
    char const* background_as_expected() {
        block_sums(y_, work_.sums);
        auto const& sums = work_.sums;
        auto const& free = plan_.free_blocks;
        std::size_t const blocks = free.size();
        double rough = 0, count = 0, most = 0;
        for (std::size_t b = 0; b + 1 < blocks; ++b)
            if (free[b] != 0 && free[b + 1] != 0) {
                rough += sums.roughness[b], count += plan_block;
                most = std::max(most, sums.roughness[b]);
            }
        rough /= count;
        // Third differences of white noise have twenty times its variance.
        double const white = std::sqrt(plan_.roughness / 20);
        if (white > 0.3 * plan_.fast) {
            scale_ = std::sqrt(rough / plan_.roughness);
            if (!(scale_ > 0.7 && scale_ < 1.4)) return "another noise";
        } else if (rough > 20 * plan_.fast * plan_.fast) {
            return "another noise";
        }
        fast_ = plan_.fast * scale_, rms_ = plan_.rms * scale_;
        if (most > 20 * 80 * fast_ * fast_) return "a spike or a jump";
        plan_.ground.lay(sums.sum, free, work_.spline, work_.level, work_.steps);
        work_.rest.clear();
        auto const seconds = [&](double s) {
            return std::max<std::size_t>(
                1, static_cast<std::size_t>(s / (plan_block * plan_.interval_s)));
        };
        std::size_t const two = seconds(2);
        double squares = 0, stretches = 0;
        slow_sigma_ = std::max(rms_, fast_) * std::sqrt(std::max(1.0, plan_.slow));
        for (std::size_t b = 0; b < blocks;) {
            if (free[b] == 0) {
                ++b;
                continue;
            }
            work_.rest.clear();
            for (; b < blocks && free[b] != 0; ++b)
                work_.rest.push_back(sums.sum[b] - plan_block * work_.level[b]);
            for (std::size_t i = 0; i + two <= work_.rest.size(); i += two) {
                double sum = 0;
                for (std::size_t k = i; k < i + two; ++k) sum += work_.rest[k];
                squares += sum * sum / (fast_ * fast_ * static_cast<double>(two * plan_block));
                stretches += 1;
            }
            work_.tolerance.assign(work_.rest.size(), 0.0);
            if (stands_out(
                    work_.rest, work_.tolerance, std::max(rms_, fast_), slow_sigma_, seconds(0.5)))
                return "something where nothing stood";
        }
        slow_ = stretches < 6 ? 1 : std::max(1.0, squares / stretches);
        if (slow_ > 2.5) return "a background that wanders";
        for (auto const& d : plan_.disturbed)
            for (std::size_t b = d.first; b < d.last; ++b)
                if (std::abs(sums.sum[b] / plan_block - work_.level[b]) > 3 * d.most + 10 * rms_)
                    return "another kick";
        return nullptr;
    }

    char const* peak_as_expected(PlannedPeak const& p, FollowedFit const& fit) {
        if (!(fit.amount > 0.5 && fit.amount < 2)) return "a peak of another size";
        if (fit.amount * p.peak.height < 6 * rms_) return "a peak hardly above the noise";
        double const half = p.peak.width_half_s / plan_.interval_s;
        if (std::abs(fit.shift) > 0.35 * half || std::abs(fit.stretch) > 0.02)
            return "a peak that moved or widened";
        auto const at_top = static_cast<std::size_t>(std::max(0.0, p.top + fit.shift));
        double const highest = fit.amount * p.peak.height + level_at(work_.level, at_top);
        if (options_.range_high && highest > 0.99 * *options_.range_high) return "clipping";
        // What is left of each whole block in the window when the shape is taken off.
        work_.rest.clear(), work_.tolerance.clear();
        double const origin = static_cast<double>(p.from) - static_cast<double>(p.margin);
        std::size_t b = (p.from + plan_block - 1) / plan_block;
        std::size_t const end = p.to / plan_block;
        // The kept shape holds the neighbours' share as it was; what they have more or less of now
        // is added.
        auto const whole = [&](std::size_t sample) {
            // The stretch is small: it only moves where a sample is read.
            double const away = static_cast<double>(sample) - p.top - fit.shift;
            double const x = static_cast<double>(sample) - origin - fit.shift - fit.stretch * away;
            double const held = std::clamp(x, 1.0, static_cast<double>(p.whole.size() - 3));
            Between const at(held);
            auto const read = [&](std::vector<double> const& sums) {
                double const* w = sums.data() + at.whole - 1;
                return at.value[0] * w[0] + at.value[1] * w[1] + at.value[2] * w[2] +
                       at.value[3] * w[3];
            };
            double sum = fit.amount * read(p.whole);
            for (auto const& spill : p.spills)
                sum += (work_.fits[spill.of].amount - fit.amount) * read(spill.whole);
            return sum;
        };
        double low = whole(b * plan_block);
        for (; b < end; ++b) {
            double const high = whole((b + 1) * plan_block);
            double const shape = high - low;
            work_.rest.push_back(work_.sums.sum[b] - plan_block * work_.level[b] - shape);
            work_.tolerance.push_back(shape_tolerance * std::abs(shape));
            low = high;
        }
        double const both = std::sqrt(1 + fit.amount * fit.amount);
        if (stands_out(work_.rest,
                       work_.tolerance,
                       both * std::max(rms_, fast_),
                       both * slow_sigma_,
                       std::max<std::size_t>(
                           1, static_cast<std::size_t>(0.5 / (plan_block * plan_.interval_s)))))
            return "a peak of another shape";
        return nullptr;
    }

    double sum_above(std::size_t first, std::size_t last) const {
        double sum = 0;
        std::size_t i = first;
        auto const one = [&] { sum += y_[i] - level_at(work_.level, i), ++i; };
        while (i < last && i % plan_block != 0) one();
        for (; i + plan_block <= last; i += plan_block)
            sum += work_.sums.sum[i / plan_block] - plan_block * work_.level[i / plan_block];
        while (i < last) one();
        return sum;
    }

    void measure(DetectorPeaks& out) const {
        double const dt = plan_.interval_s;
        // Slower noise than the plan's makes every area less sure; of less there is no proof.
        double const slow = std::sqrt(std::max(1.0, slow_ / std::max(1.0, plan_.slow)));
        std::size_t border = 0;  // of the peak before
        for (std::size_t k = 0; k < plan_.peaks.size(); ++k) {
            auto const& p = plan_.peaks[k];
            auto const& fit = work_.fits[k];
            auto const moved = [&](std::size_t sample, double shift) {
                return static_cast<std::size_t>(
                    std::clamp(static_cast<double>(sample) + std::round(shift),
                               0.0,
                               static_cast<double>(y_.size())));
            };
            std::size_t const first = p.joined_before && k > 0 ? border : moved(p.first, fit.shift);
            std::size_t const last =
                p.joined_after && k + 1 < work_.fits.size()
                    ? moved(p.last, 0.5 * (fit.shift + work_.fits[k + 1].shift))
                    : moved(p.last, fit.shift);
            border = last;
            Peak peak = p.peak;
            double moved_area = 0;
            if (!p.spills.empty()) {
                moved_area = fit.amount * p.beyond;
                for (auto const& spill : p.spills)
                    moved_area -= work_.fits[spill.of].amount * spill.area;
            }
            peak.area = sum_above(first, last) * dt + moved_area;
            peak.flags.fitted = std::abs(moved_area) > 1e-4 * std::abs(peak.area);
            peak.area_u = std::hypot(p.u_noise * scale_ * slow, p.u_shape * fit.amount);
            peak.start_s += dt * (static_cast<double>(first) - static_cast<double>(p.first));
            peak.end_s += dt * (static_cast<double>(last) - static_cast<double>(p.last));
            peak.apex_s += dt * fit.shift;
            peak.height *= fit.amount;
            peak.width_half_s *= 1 + fit.stretch;
            out.peaks.push_back(peak);
        }
        for (std::size_t k = 0; k + 1 < out.peaks.size(); ++k) {
            auto &a = out.peaks[k], &b = out.peaks[k + 1];
            a.resolution_next = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        }
        out.noise = {rms_, plan_.noise.drift_per_s};
        out.kicks = plan_.kicks, out.steps = plan_.steps;
        for (std::size_t k = 0; k < plan_.fitted_steps.size(); ++k)
            out.steps[plan_.fitted_steps[k]].step = work_.steps[k];
        if (work_.level.size() > 1)
            out.noise.drift_per_s =
                (work_.level.back() - work_.level.front() -
                 std::accumulate(work_.steps.begin(), work_.steps.end(), 0.0)) /
                (static_cast<double>((work_.level.size() - 1) * plan_block) * dt);
    }

    PeakPlan const& plan_;
    std::span<float const> y_;
    PeakOptions const& options_;
    Work& work_;
    double scale_ = 1, fast_{}, rms_{}, slow_ = 1, slow_sigma_{};
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
