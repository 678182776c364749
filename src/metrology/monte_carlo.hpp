#pragma once
/// Propagation of distributions: JCGM 101:2008 with its adaptive procedure (7.9). The answer
/// depends on the seed alone, never on the number of threads.
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "base/matrix.hpp"
#include "base/random.hpp"
#include "base/result.hpp"

namespace gw::metrology {

struct MonteCarloOptions {
    std::uint64_t seed = 1;
    std::size_t block = 10000;     ///< trials in one block, JCGM 101 7.9.4 b)
    std::size_t most = 1'000'000;  ///< trials; a whole number of blocks
    bool adaptive = true;          ///< stop when stable; false: all of `most`
    int digits = 2;                ///< significant digits of u that must be stable, 7.9.2
    double coverage = 0.95;
    unsigned threads = 0;  ///< 0: as many as the machine has
};

struct MonteCarlo {
    double mean{}, u{};
    double low{}, high{};                    ///< probabilistically symmetric interval
    double shortest_low{}, shortest_high{};  ///< shortest interval
    double tolerance{};                      ///< 0.5 x 10^l of u at those digits
    std::size_t trials = 0;
    bool stable = false;  ///< twice the standard deviation of every figure is within the tolerance
};

/// One trial: draws its inputs from the stream and answers the output quantity. Called from several
/// threads; must not touch shared state.
using Trial = std::function<double(RandomStream&)>;
MonteCarlo monte_carlo(Trial const& trial, MonteCarloOptions const& options = {});

/// Figures of a sample of trials (its ends are sorted in place).
MonteCarlo summarise(std::vector<double>& values, double coverage);

/// Draws from a normal law of many quantities: x = mean + root z with root root' = V. V may be
/// singular, as that of normalised amounts is.
class CorrelatedNormal {
  public:
    CorrelatedNormal(std::span<double const> mean, SquareMatrix const& V);
    void draw(RandomStream& random, std::span<double> x) const;

  private:
    std::vector<double> mean_, root_;  // root: rows of mean.size(), `rank` columns
    std::size_t rank_ = 0;
};

/// First-order propagation (JCGM 100, 5.2) of a model given as a function, by central differences
/// of u/1000 (or of the value where u is 0).
struct Linear {
    std::vector<double> value;
    SquareMatrix V;
};
using Model = std::function<std::vector<double>(std::vector<double> const&)>;
Linear propagate(Model const& model, std::vector<double> const& x, SquareMatrix const& V);

}  // namespace gw::metrology
