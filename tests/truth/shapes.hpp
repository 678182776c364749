#pragma once
/// Chance and the closed forms of peaks, for runs of known truth.
#include <cstdint>
#include <functional>
#include <random>

#include "truth/invented_run.hpp"

namespace gw::truth {

class Dice {
  public:
    explicit Dice(std::uint64_t seed) : engine_(seed) {}
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1.0p-53);
    }
    double normal() {  // polar method
        for (;;) {
            double const a = between(-1, 1), b = between(-1, 1), r = a * a + b * b;
            if (r > 0 && r < 1) return a * std::sqrt(-2 * std::log(r) / r);
        }
    }

  private:
    std::mt19937_64 engine_;
};

/// A density of unit area whose mean is at `at`.
std::function<double(double)> density(Form form, double at, double sigma, double tail);

/// Apex, height and half width of a density that has its mean at `at`; its area is not set.
Truth measured(std::function<double(double)> const& shape, double at, double sigma);

}  // namespace gw::truth
