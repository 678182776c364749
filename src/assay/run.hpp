#pragma once
/// One run as areas under names: what a trace or a printed report says of each expected peak.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "assay/method.hpp"
#include "base/result.hpp"
#include "trace/trace.hpp"

namespace gw::assay {

struct NamedPeak {
    trace::Peak peak;
    std::optional<gas::Component> component;
    /// Probability of the name where all times had moved (alignment.hpp); none where it follows
    /// from the times as stated.
    std::optional<double> confidence;
};

struct ComponentArea {
    gas::Component component;
    double area{}, u{};    ///< u: standard uncertainty of this run's area, 0 when not known
    double retention_s{};  ///< 0 when a report does not say
    int detector = 1;
    double printed_factor{};  ///< of a report; 0 when absent
};

struct RunAreas {
    std::string source, hash;
    std::vector<ComponentArea>
        areas;  ///< one per expected peak that was found, order of the method
    std::vector<NamedPeak>
        peaks;  ///< all peaks of a trace in order of detector and time; empty for a report
    std::vector<trace::Noise> noise;         ///< one per detector, of a trace
    std::vector<trace::BaselineStep> steps;  ///< kicks of all detectors with what they left
    std::vector<std::string> warnings;

    [[nodiscard]] ComponentArea const* find(gas::Component component) const;
};

/// Options for find_peaks that the method knows: valve events and the detector's range.
trace::PeakOptions peak_options(Method const& method);

/// Finds and names the peaks of all detectors. A peak that no window expects is `unexpected`; an
/// expected peak that is not found is named in a warning and has no area.
RunAreas run_areas(trace::Trace const& trace, Method const& method);
/// The same with another way to the peaks than find_peaks.
using PeakFinder = std::function<trace::DetectorPeaks(
    trace::Trace const& trace, int detector, trace::PeakOptions const& options)>;
RunAreas run_areas(trace::Trace const& trace, Method const& method, PeakFinder const& finder);

/// The areas of a report. Rows without area are left out; rows the method does not expect are
/// warned of. Fails with bad_input when no row states an area.
Result<RunAreas> run_areas(trace::ReportTable const& report, Method const& method);

/// Names for peaks of one detector, in order of time: for each peak the index of the expected peak
/// it is, or none. `expected` in order of retention. The assignment keeps the order of elution and
/// is the one of least total misfit, each misfit in window half widths; nothing outside its window
/// is named.
std::vector<std::optional<std::size_t>> assign(std::vector<trace::Peak> const& peaks,
                                               std::vector<ExpectedPeak> const& expected);

}  // namespace gw::assay
