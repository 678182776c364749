#pragma once
/// Overlapping peaks told apart: exponentially modified Gaussians fitted together to one cluster.
/// Own Levenberg-Marquardt with analytic derivatives.
#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "trace/emg.hpp"
#include "trace/kick_fit.hpp"

namespace gw::trace {

/// A kick in the signal and its first guess; its lag is not fitted.
struct KickGuess {
    std::size_t at{};  ///< sample of its onset
    KickShape shape;
    bool step = true;    ///< whether something of it may stay
    bool fitted = true;  ///< else only no sample is averaged across its onset
};

struct ClusterFitOptions {
    int iterations = 80;
    double settled =
        1e-4;  ///< of the sum of squares: a fit whose last three steps each gained less has settled
    double model_error =
        0.004;  ///< of the signal: real peaks are not exactly of this shape, so far from
                ///< the noise the fit counts relative departures (common practice, no source)
    double largest_tail = 6;        ///< tau / sigma
    std::optional<KickGuess> kick;  ///< a valve's kick among the peaks, fitted with them
    /// A fit that is of no use above this sum of squares is given up, unconverged, once the steps
    /// it has left would not bring it there if each gained as much as the best of the last three
    /// did.
    double wanted = std::numeric_limits<double>::infinity();
    bool responses = false;  ///< whether `response` of the answer is wanted
    /// Peaks side by side went through the same columns: widths and tails of neighbours are held
    /// together, as loosely as `like_widths` and `like_tails` say. A signal that knows better wins.
    bool one_column = false;
    std::vector<std::pair<std::size_t, std::size_t>>
        ignored;  ///< samples [from, to) that count for nothing
};

/// Standard deviations of what the logarithms of sigma and tau of neighbours differ by, as a column
/// makes them (common practice, no source: plate numbers of neighbours agree within a tenth or so).
inline constexpr double like_widths = 0.06, like_tails = 0.25;

struct ClusterFit {
    std::vector<Emg> peaks;  ///< same order as the start values
    double misfit{};  ///< weighted residual variance: about 1 when the shapes describe the signal
    double largest_departure{};     ///< of residual over the highest point of the cluster
    std::vector<double> departure;  ///< per peak: largest residual where it is the highest of them,
                                    ///< less what noise explains, over its height
    bool converged = false;         ///< the sum of squares has settled, and every area is positive
    std::vector<double> area_u;     ///< standard uncertainty from the fit's covariance
    std::size_t samples{};          ///< means of samples that the fit used
    /// Means beyond the parameters of the peaks.
    [[nodiscard]] double freedom() const {
        return static_cast<double>(samples) - 4 * static_cast<double>(peaks.size());
    }
    /// Of the sum of squares over what noise makes of it.
    [[nodiscard]] double excess() const { return (misfit - 1) * freedom(); }
    KickShape kick;  ///< as fitted, where one was asked for
    /// How each parameter follows each mean: response[4 peak + p][mean], p as in EmgDerivatives. A
    /// mean is over `block` samples, the first from sample `first` of y.
    std::vector<std::vector<double>> response;
    /// How each parameter follows each bond of neighbours, in standard deviations of it.
    std::vector<std::vector<double>> bond_response;
    std::size_t block{1}, first{};
};

/// y: signal above the background, samples at start_s + i interval_s. start: first guesses, in
/// order of time. noise: standard deviation of a sample.
ClusterFit fit_cluster(std::span<double const> y,
                       double start_s,
                       double interval_s,
                       double noise,
                       std::vector<Emg> const& start,
                       ClusterFitOptions const& options = {});

}  // namespace gw::trace
