#pragma once
/// One run held against what another showed. For the follower alone; see docs/peaks.md.
#include <vector>

#include "trace/peak_plan.hpp"

namespace gw::trace {

/// Kept from run to run: nothing is allocated for a run but its answer.
struct FollowWork {
    std::vector<float> sums, shape, rest, tolerance, scratch;
    LaidGround ground;
    std::vector<FollowedFit> fits;
    SumLimits limits, under_peak;
    /// Of a group that was measured anew.
    struct Anew {
        std::vector<Region>
            regions;  ///< counted from sample `origin`; empty where shapes alone tell
        std::size_t origin{};
        std::optional<ClusterFit> fit;
    };
    std::vector<std::optional<Anew>> anew;  ///< one per group
    std::vector<double> above;
};

class FollowedRun {
  public:
    /// plan: learns how badly shapes described peaks that were looked through.
    FollowedRun(PeakPlan& plan,
                Trace const& trace,
                int detector,
                PeakOptions const& options,
                FollowWork& work);

    /// Null when followed, else why not. search: whether a few peaks of another size or shape may
    /// be searched anew.
    char const* run(bool search, DetectorPeaks& out);
    /// Whether it was tried.
    [[nodiscard]] bool searched() const { return searched_; }

  private:
    char const* noise_as_expected();
    char const* background_as_expected();
    void fit_shapes();
    [[nodiscard]] bool have_stayed() const;
    char const* set_apart(bool search);
    bool neighbours_parted(PlannedGroup const& group);
    char const* peak_as_expected(PlannedPeak const& p, FollowedFit const& fit);
    SumLimits const& with_ground(PlannedPeak const& p, std::size_t blocks);
    char const* fitted_anew(std::size_t group, double shift);
    char const* searched_anew(std::size_t group);
    char const* still_peaks(PlannedGroup const& group);
    GroupSignal signal_between(std::size_t from, std::size_t to);
    [[nodiscard]] double shift_of(std::size_t group) const;
    [[nodiscard]] FollowedFit as_fitted(std::size_t peak, ClusterFit const& fit) const;
    [[nodiscard]] std::size_t moved(std::size_t sample, double shift) const;
    [[nodiscard]] std::size_t blocks_in(double seconds) const;
    [[nodiscard]] double block_total(std::size_t first, std::size_t last) const;
    [[nodiscard]] double sample_total(std::size_t first, std::size_t last) const;
    [[nodiscard]] double sum_above(std::size_t first, std::size_t last) const;
    [[nodiscard]] double carried_across(std::size_t peak,
                                        std::size_t first,
                                        std::size_t last) const;
    [[nodiscard]] double most_amount(std::size_t peak) const;
    void measure_peak(std::size_t peak, std::size_t& border, double slow, DetectorPeaks& out) const;
    void measure(DetectorPeaks& out) const;

    PeakPlan& plan_;
    std::span<float const> y_;
    PeakOptions const& options_;
    FollowWork& work_;
    FreeGround const* ground_ = nullptr;
    std::span<double const> level_;
    std::span<float const> above_;
    double scale_ = 1, fast_{}, rms_{}, slow_ = 1;
    bool searched_ = false;
};

}  // namespace gw::trace
