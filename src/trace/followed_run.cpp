#include "trace/followed_run.hpp"

#include <algorithm>
#include <cmath>

namespace gw::trace {

namespace {

// What the noise may do once in a few hundred runs; a peak that the careful search would report
// stands further above it in one of the sums.
constexpr double far = 5.0;
// A shape may differ from the one before by so much of itself: columns age by less in a day.
constexpr double shape_tolerance = 3e-4;
// Of means over two seconds, as a variance over that of white noise; as in the careful search.
constexpr double most_slow = 2.5;

}  // namespace

FollowedRun::FollowedRun(
    PeakPlan& plan, Trace const& trace, int detector, PeakOptions const& options, FollowWork& work)
    : plan_(plan),
      y_(trace.signals[static_cast<std::size_t>(detector - 1)]),
      options_(options),
      work_(work) {}

char const* FollowedRun::run(bool search, DetectorPeaks& out) {
    // The background is told from more samples where peaks have hardly moved.
    for (auto const* ground : {&plan_.close, &plan_.roomy}) {
        if (ground->free.empty()) continue;
        ground_ = ground;
        if (auto const* why = background_as_expected()) {
            if (ground == &plan_.roomy) return why;
            continue;
        }
        work_.anew.assign(plan_.groups.size(), std::nullopt);
        fit_shapes();
        if (ground == &plan_.roomy || have_stayed()) break;
    }
    if (auto const* why = set_apart(search)) return why;
    measure(out);
    return nullptr;
}

bool FollowedRun::have_stayed() const {
    constexpr double hardly = 0.1;  // of the half width
    for (std::size_t k = 0; k < plan_.peaks.size(); ++k)
        if (auto const& fit = work_.fits[k];
            std::abs(fit.shift) > hardly * plan_.peaks[k].peak.width_half_s / plan_.interval_s)
            return false;
    return true;
}

std::size_t FollowedRun::blocks_in(double seconds) const {
    return std::max<std::size_t>(
        1, static_cast<std::size_t>(seconds / (plan_block * plan_.interval_s)));
}

char const* FollowedRun::noise_as_expected() {
    auto const rough = roughness(y_, ground_->free);
    double const mean = rough.total / ground_->rough_samples;
    // Third differences of white noise have twenty times its variance.
    double const white = std::sqrt(ground_->roughness / 20);
    if (white > 0.3 * plan_.fast) {
        scale_ = std::sqrt(mean / ground_->roughness);
        if (!(scale_ > 0.7 && scale_ < 1.4)) return "another noise";
    } else if (mean > 20 * plan_.fast * plan_.fast) {
        return "another noise";
    }
    fast_ = plan_.fast * scale_, rms_ = plan_.rms * scale_;
    if (static_cast<double>(rough.most) > 20 * 80 * fast_ * fast_) return "a spike or a jump";
    double const sigma = std::max(rms_, fast_),
                 slow_sigma = sigma * std::sqrt(std::max(1.0, std::min(plan_.slow, most_slow)));
    std::size_t const slow_from = blocks_in(0.5);
    std::size_t width = 1;
    for (std::size_t k = 0; k < work_.limits.noise.size() && width <= plan_.samples;
         ++k, width *= 2) {
        double const usual = (width >= slow_from ? slow_sigma : sigma) *
                             std::sqrt(static_cast<double>(width * plan_block));
        // What is only a little more is chance.
        double const seen = ground_->sums[k] * std::max(1.0, scale_);
        work_.limits.noise[k] = static_cast<float>(far * (seen > 1.3 * usual ? seen : usual));
    }
    return nullptr;
}

char const* FollowedRun::background_as_expected() {
    if (auto const* why = noise_as_expected()) return why;
    std::size_t const blocks = y_.size() / plan_block;
    work_.sums.resize(blocks + blocks_behind);
    work_.scratch.resize(2 * (blocks + 32));
    block_sums(y_, plan_.from, work_.sums.data());
    ground_->ground.lay(work_.sums, work_.ground);
    level_ = std::span(work_.ground.level).first(blocks);
    above_ = work_.ground.above;
    slow_ = slow_part(*ground_, above_, plan_.interval_s, fast_);
    // From here on the careful search asks for a more limber line; where it has none, the noise is
    // so.
    if (slow_ > (plan_.slow < most_slow ? most_slow : 2 * ground_->slow))
        return "a background that wanders";
    for (auto const& free : ground_->free)
        if (stands_out(above_.data() + free.first,
                       nullptr,
                       free.last - free.first,
                       work_.limits,
                       1,
                       work_.scratch.data()))
            return "something where nothing stood";
    for (auto const& d : plan_.disturbed)
        for (std::size_t b = d.first; b < d.last; ++b)
            if (std::abs(static_cast<double>(above_[b]) / plan_block) > 3 * d.most + 10 * rms_)
                return "another kick";
    return nullptr;
}

// Amount, shift and stretch of every peak to the shape it had. What does not take one is left at
// rest.
void FollowedRun::fit_shapes() {
    FollowedFit fit;
    work_.fits.clear();
    for (auto const& p : plan_.peaks) {
        // Begun at the shift of the peak before.
        auto own = fit;
        bool const overlapped = plan_.groups[p.group].overlapped;
        if (!overlapped && fit_core(y_,
                                    plan_.from,
                                    level_,
                                    p.rows,
                                    p.core_from,
                                    most_shift * p.peak.width_half_s / plan_.interval_s,
                                    own))
            fit = own;
        else
            own = {.amount = 0, .shift = fit.shift};
        work_.fits.push_back(own);
    }
}

// Groups whose peaks are no longer what they were are measured without their old shapes, as long as
// they are few.
char const* FollowedRun::set_apart(bool search) {
    std::size_t const most = search ? (plan_.groups.size() + 1) / 2 : 0;
    std::size_t others = 0;
    char const* last = nullptr;
    for (std::size_t g = 0; g < plan_.groups.size(); ++g) {
        auto const& group = plan_.groups[g];
        if (group.overlapped) {
            if (auto const* why = fitted_anew(g, shift_of(g))) return why;
            if (!as_well(group, *work_.anew[g]->fit)) return "overlapped peaks of another form";
            continue;
        }
        char const* why = neighbours_parted(group) ? nullptr : "a peak that is not where it was";
        for (std::size_t k = group.first_peak; k < group.last_peak && why == nullptr; ++k)
            why = peak_as_expected(plan_.peaks[k], work_.fits[k]);
        if (why == nullptr) continue;
        if (++others > most) return why;
        last = why;
        work_.anew[g].emplace();
    }
    if (last == nullptr) return nullptr;
    searched_ = true;
    for (std::size_t g = 0; g < plan_.groups.size(); ++g)
        if (work_.anew[g] && !plan_.groups[g].overlapped)
            if (auto const* why = searched_anew(g)) return why;
    return nullptr;
}

// A kept shape holds its neighbours' share as it was: what they have more or less of now is no
// part of the peak. Each turn leaves less than a third of what the one before left.
bool FollowedRun::neighbours_parted(PlannedGroup const& group) {
    auto& fits = work_.fits;
    for (std::size_t k = group.first_peak; k < group.last_peak; ++k)
        if (!(fits[k].amount > 0)) return false;
    for (int turn = 0; turn < 4; ++turn)
        for (std::size_t k = group.first_peak; k < group.last_peak; ++k) {
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

// Under a peak the background is not seen but carried over: what it errs by adds up over the
// window, in all as much as the noise leaves in doubt of the area.
SumLimits const& FollowedRun::with_ground(PlannedPeak const& p, std::size_t blocks) {
    auto& limits = work_.under_peak;
    double const whole = p.u_noise * std::max(1.0, scale_) / plan_.interval_s;
    std::size_t width = 1;
    for (std::size_t k = 0; k < limits.noise.size() && width <= 2 * blocks; ++k, width *= 2) {
        double const carried =
            far * whole * std::min(1.0, static_cast<double>(width) / static_cast<double>(blocks));
        limits.noise[k] = static_cast<float>(std::hypot(work_.limits.noise[k], carried));
    }
    return limits;
}

char const* FollowedRun::peak_as_expected(PlannedPeak const& p, FollowedFit const& fit) {
    if (!(fit.amount > 0.25 && fit.amount < 3)) return "a peak of another size";
    if (fit.amount * p.peak.height < 6 * rms_) return "a peak hardly above the noise";
    double const half = p.peak.width_half_s / plan_.interval_s;
    if (std::abs(fit.shift) > most_shift * half || std::abs(fit.stretch) > 0.02)
        return "a peak that moved or widened";
    double const highest = fit.amount * p.peak.height + level_at(level_, p.top + fit.shift) +
                           static_cast<double>(plan_.from);
    if (options_.range_high && highest > 0.99 * *options_.range_high) return "clipping";
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
    if (std::abs(fit.stretch) > 3e-4) add(p.wider.square, fit.amount * fit.stretch * fit.stretch);
    // The kept shape holds the neighbours' share as it was; what they have more or less of now
    // is added.
    for (auto const& spill : p.spills) add(spill.sums, work_.fits[spill.of].amount - fit.amount);
    rest_of(above_.data() + first,
            work_.shape.data(),
            blocks,
            static_cast<float>(shape_tolerance),
            work_.rest.data(),
            work_.tolerance.data());
    if (stands_out(work_.rest.data(),
                   work_.tolerance.data(),
                   blocks,
                   with_ground(p, blocks),
                   static_cast<float>(std::sqrt(1 + fit.amount * fit.amount)),
                   work_.scratch.data()))
        return "a peak of another shape";
    return nullptr;
}

}  // namespace gw::trace
