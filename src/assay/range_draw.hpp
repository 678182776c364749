#pragma once
/// Random compositions inside a range of amounts.
#include <cstdint>
#include <span>
#include <vector>

namespace gw::assay {

/// Compositions summing to one with every amount inside [low, high], uniform over all that are so:
/// all but the widest amount are drawn evenly, the widest takes the rest, and what then lies
/// outside is drawn again. Where hardly anything lies inside, amounts are moved in proportion
/// towards one end instead, which is no longer even.
class RangeDraw {
  public:
    RangeDraw(std::span<double const> low, std::span<double const> high);
    /// Composition `index` of `seed` into x, the same whatever was drawn before. Answers whether it
    /// was drawn evenly.
    bool draw(  // NOLINT(modernize-use-nodiscard): most do not ask how it was drawn
        std::uint64_t seed,
        std::uint64_t index,
        std::span<double> x) const;

  private:
    std::vector<double> low_, high_;
    std::size_t widest_ = 0;
    double low_sum_ = 0, high_sum_ = 0;
    bool hopeless_ = false;
};

}  // namespace gw::assay
