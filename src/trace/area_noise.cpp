#include "trace/area_noise.hpp"

#include "metrology/statistics.hpp"
#include "trace/noise_spectrum.hpp"

namespace gw::trace {

namespace {

// So that 1.96 u covers 95 % although the noise is only known from so many stretches; below three
// of them nobody would believe the spectrum at all.
double widening(double nu) {
    constexpr double z = 1.959964;
    return nu > 2000 ? 1 : metrology::student_t(0.975, std::max(nu, 3.0)) / z;
}

}  // namespace

AreaNoise::AreaNoise(Survey const& survey, Regions const& regions)
    : survey_(survey), regions_(regions), bin_(samples_per_bin(survey.dt)) {
    auto const& free = regions.free;
    free_part_.assign((survey.y.size() + bin_ - 1) / bin_, 0.0);
    for (std::size_t i = 0; i < free.size(); ++i)
        if (free[i]) free_part_[i / bin_] += 1;
}

AreaNoise::Spread AreaNoise::spread(std::size_t first, std::vector<double> weight) const {
    Spread out{first, std::move(weight), {}};
    out.ground = regions_.ground.influence(first, out.weight, bin_, free_part_.size());
    for (std::size_t b = 0; b < out.ground.size(); ++b) out.ground[b] *= -free_part_[b];
    return out;
}

AreaNoise::Spread mixed(AreaNoise::Spread const& a,
                        double of_a,
                        AreaNoise::Spread const& b,
                        double of_b) {
    auto out = a;
    for (std::size_t k = 0; k < out.weight.size(); ++k)
        out.weight[k] = of_a * a.weight[k] + of_b * b.weight[k];
    for (std::size_t k = 0; k < out.ground.size(); ++k)
        out.ground[k] = of_a * a.ground[k] + of_b * b.ground[k];
    return out;
}

double AreaNoise::u(Spread const& s) const {
    auto const& spectrum = regions_.spectrum;
    auto total = s.ground;
    double squares = 0, sum = 0;
    for (std::size_t b = 0; b < total.size(); ++b)
        if (free_part_[b] > 0) squares += total[b] * total[b] / free_part_[b];
    for (std::size_t k = 0; k < s.weight.size(); ++k) {
        total[(s.first + k) / bin_] += s.weight[k];
        squares += s.weight[k] * s.weight[k];
        sum += s.weight[k];
    }
    double const dt = survey_.dt;
    if (!(spectrum.bin_s > 0)) {  // nothing to tell the slow noise from
        double const slow = regions_.slow_scatter * regions_.rms * regions_.rms;
        return dt * std::sqrt(slow * squares);
    }
    auto gain = noise_gain(total, spectrum.bin_s);
    // Inside a bin the noise counts as white: single samples, not their means, carry it.
    gain.white = static_cast<double>(bin_) * squares;
    double const noise = gain.variance(spectrum),
                 widened = std::pow(widening(gain.degrees_of_freedom(spectrum)), 2) * noise;
    // What rounding to the converter's steps puts on the baseline is there as long as the level is.
    return dt * std::sqrt(widened + std::pow(regions_.rounding * sum, 2));
}

}  // namespace gw::trace
