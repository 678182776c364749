#pragma once
/// A second estimate of a peak's area: its fitted shape's. Surer than the sum by a third and more,
/// and right only where the shape is.
#include <cstddef>
#include <optional>
#include <vector>

#include "trace/area_noise.hpp"
#include "trace/cluster_fit.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

struct AreaEstimate {
    double area{};               ///< unit x s
    std::size_t from{};          ///< sample of weight[0]
    std::vector<double> weight;  ///< of each sample above the background in it, over the interval
};

/// Of a peak that stands alone, upward and whole. None where its shape leaves over more than noise.
std::optional<AreaEstimate> area_by_shape(Survey const& survey,
                                          Regions const& regions,
                                          Region const& region);
/// Of a peak of a cluster that was fitted over `samples` from sample `first` on, with responses.
AreaEstimate area_of_shape(ClusterFit const& fit,
                           std::size_t peak,
                           std::size_t first,
                           std::size_t samples,
                           double interval_s);
/// Whether the shapes leave over no more than noise.
bool describes(ClusterFit const& fit);

/// An area between a peak's sum and its shape's.
struct BelievedArea {
    double area{};     ///< unit x s
    double u_noise{};  ///< standard uncertainty from the noise
    double doubt{};    ///< what remains of the difference, as a standard uncertainty
};
/// The shape is believed as far as the two agree: wholly where they do, not at all from two and a
/// half standard deviations of their difference on, or where the noise there is would make it no
/// surer; then none. As a test of a model by two estimates: Hausman, Econometrica 46 (1978) 1251.
/// sum: its area, how it takes its samples, and its standard uncertainty from the noise.
std::optional<BelievedArea> believed(AreaNoise const& noise,
                                     double sum,
                                     AreaNoise::Spread const& of_sum,
                                     double u_sum,
                                     AreaEstimate const& shape);

}  // namespace gw::trace
