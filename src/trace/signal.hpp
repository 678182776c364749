#pragma once
/// One run's detector signals on a uniform time grid.
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/time.hpp"

namespace gw::trace {

/// Samples [first, last] that were never recorded; the signal holds a straight line there.
struct Gap {
    std::size_t first{}, last{};
};

struct Trace {
    std::string source;                       ///< file name, for messages
    std::string hash;                         ///< SHA-256 of the bytes it was read from
    std::optional<Instant> start;             ///< clock time of the first sample's run
    double start_s{};                         ///< time of sample 0 after injection, s
    double interval_s{};                      ///< s, positive
    std::vector<std::vector<float>> signals;  ///< one per detector, all of the same length, `unit`
    std::string unit = "mV";
    std::map<std::string, std::string> header;  ///< "# key: value" lines, keys in lower case
    std::vector<Gap> gaps;
    std::vector<std::string> warnings;

    [[nodiscard]] std::size_t samples() const {
        return signals.empty() ? 0 : signals.front().size();
    }
    [[nodiscard]] double time(std::size_t i) const {
        return start_s + static_cast<double>(i) * interval_s;
    }
    [[nodiscard]] double end_s() const { return samples() == 0 ? start_s : time(samples() - 1); }
};

}  // namespace gw::trace
