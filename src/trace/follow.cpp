#include "trace/follow.hpp"

#include <algorithm>

#include "trace/followed_run.hpp"

namespace gw::trace {

namespace {
constexpr std::size_t least_patience = 32, most_patience = 512;
}

struct PeakFollower::State {
    struct Known {
        int detector{};
        PeakPlan plan;
    };
    std::vector<Known> plans;  // the one used last first
    // A run that needs a search costs more than one that does not, and less than a careful one,
    // whose plan may suit the next. As long as new plans do not help, one is made ever more rarely.
    std::size_t searched = 0, patience = least_patience, unsearched = 0;
    void follows(bool search) {
        if (search) {
            ++searched, unsearched = 0;
            return;
        }
        searched = 0;
        if (++unsearched >= least_patience) patience = least_patience;
    }
    FollowWork work;
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
        bool search = state_->searched < state_->patience;  // of one plan, not of all
        for (auto known = plans.begin(); known != plans.end(); ++known) {
            auto& plan = known->plan;
            if (known->detector != detector || plan.samples != trace.samples() ||
                plan.interval_s != trace.interval_s || plan.start_s != trace.start_s)
                continue;
            DetectorPeaks out;
            FollowedRun follow(plan, trace, detector, options, state_->work);
            if (auto const* why = follow.run(search, out)) {
                reason_ = why;
                search = search && !follow.searched();
                continue;
            }
            state_->follows(follow.searched());
            reason_.clear();
            out.warnings = trace.warnings;
            std::rotate(plans.begin(), known, known + 1);
            ++followed_;
            return out;
        }
    }
    if (state_->searched >= state_->patience)
        state_->searched = 0, state_->patience = std::min(2 * state_->patience, most_patience);
    ++careful_;
    Settled settled;
    auto out = find_peaks(trace, detector, options, &settled);
    std::string no_plan;
    if (auto plan = peak_plan(trace, detector, options, out, settled, no_plan)) {
        if (plans.size() == most_plans) plans.pop_back();
        plans.insert(plans.begin(), {detector, *std::move(plan)});
    } else {
        reason_ += "; not to be followed: " + no_plan;
    }
    return out;
}

}  // namespace gw::trace
