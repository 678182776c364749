#include "trace/follow.hpp"

#include <algorithm>

#include "trace/followed_run.hpp"

namespace gw::trace {

struct PeakFollower::State {
    struct Known {
        int detector{};
        PeakPlan plan;
    };
    std::vector<Known> plans;  // the one used last first
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
        bool search = true;  // one plan's few other peaks are searched, not those of all plans
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
    if (auto plan = peak_plan(trace, detector, options, out, settled, no_plan)) {
        if (plans.size() == most_plans) plans.pop_back();
        plans.insert(plans.begin(), {detector, *std::move(plan)});
    } else {
        reason_ += "; not to be followed: " + no_plan;
    }
    return out;
}

}  // namespace gw::trace
