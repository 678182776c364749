#pragma once
/// Which samples belong to which peak and which to the background, settled together: the background
/// needs to know where peaks are, and a peak's ends are where it meets the background.
#include <cstddef>
#include <string>
#include <vector>

#include "trace/background.hpp"
#include "trace/candidates.hpp"
#include "trace/disturbance.hpp"
#include "trace/peak_shape.hpp"
#include "trace/peaks.hpp"

namespace gw::trace {

struct Region {
    Candidate candidate;
    double sign = 1;
    std::size_t first{}, last{}, top{};    ///< samples [first, last); highest sample
    bool joined_before = false, joined_after = false;  ///< bounded by a valley with its neighbour
    double width_s{};                      ///< half width, first estimate
    bool shoulder = false;                 ///< no top of its own
    PeakShape shape;
};

class Regions {
  public:
    std::vector<double> const& y;  ///< signal without disturbances
    Trace const& trace;
    double fast{};                 ///< standard deviation of the fast noise
    std::vector<Disturbance> const& disturbances;
    PeakOptions const& options;

    std::vector<Candidate> found;  ///< every place worth a look
    std::vector<Region> peaks;     ///< in order of time
    Background ground;
    std::vector<double> above;     ///< y less the background
    double rms{};                  ///< standard deviation of the peak-free signal about the background
    std::vector<double> steps_s;   ///< times at which the background steps

    void settle();                 ///< finds peaks, background and bounds
    void measure();                ///< shapes and final bounds

    [[nodiscard]] std::size_t index(double t) const;

  private:
    [[nodiscard]] std::vector<bool> free_samples(bool first_pass) const;
    void lay_background(std::vector<bool> const& free);
    void find_steps(std::vector<bool> const& free);
    void choose(bool strict);
    [[nodiscard]] double half_width_at(Region const& p) const;
    void bound_peaks();
    bool keep(Region& region, bool strict) const;
    [[nodiscard]] bool parted(Region const& a, Region const& b) const;
    [[nodiscard]] double neighbour_height(Region const& region) const;
};

}  // namespace gw::trace
