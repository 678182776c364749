#include "trace/synthesis.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/random.hpp"

namespace gw::trace {

namespace {

// 1/f noise as the sum of first-order processes, one an octave (common practice, no source).
class Flicker {
  public:
    Flicker(double sd, double interval_s, RandomStream& random) : random_(random) {
        constexpr int octaves = 9;
        each_ = sd / std::sqrt(octaves);
        for (int k = 0; k < octaves; ++k) {
            keep_[k] = std::exp(-interval_s / (0.25 * std::exp2(k)));
            state_[k] = each_ * random_.normal();
        }
    }
    double next() {
        double sum = 0;
        for (int k = 0; k < 9; ++k) {
            state_[k] = keep_[k] * state_[k] +
                        each_ * std::sqrt(1 - keep_[k] * keep_[k]) * random_.normal();
            sum += state_[k];
        }
        return sum;
    }

  private:
    RandomStream& random_;
    double each_{};
    double keep_[9]{}, state_[9]{};
};

}  // namespace

double kick_signal(SyntheticKick const& kick, double t) {
    double const u = (t - kick.at_s) / kick.decay_s, step = t >= kick.at_s ? kick.step : 0.0;
    switch (kick.form) {
        case KickForm::decay: {
            if (t < kick.at_s) return 0;
            double const risen = kick.rise_s > 0 ? std::exp(-(t - kick.at_s) / kick.rise_s) : 0.0;
            return kick.height * (std::exp(-u) - risen) + step;
        }
        case KickForm::spike:
            return kick.height * std::exp(-0.5 * u * u) + step;
        case KickForm::bipolar:
            return -kick.height * u * std::exp(0.5 - 0.5 * u * u) + step;
    }
    return 0;
}

double passage_signal(PassagePeak const& p, double t) {
    if (t <= 0) return 0;
    double const m = p.retention_s, lambda = m * p.plates;
    return p.area * std::sqrt(lambda / (2 * std::numbers::pi * t * t * t)) *
           std::exp(-lambda * (t - m) * (t - m) / (2 * m * m * t));
}

Trace synthesise(std::vector<SyntheticDetector> const& detectors, SynthesisOptions const& options) {
    Trace trace;
    trace.source = "synthetic";
    trace.interval_s = options.interval_s;
    auto const samples =
        static_cast<std::size_t>(std::llround(options.duration_s / options.interval_s));
    for (std::size_t d = 0; d < detectors.size(); ++d) {
        auto const& detector = detectors[d];
        std::vector<double> y(samples);
        for (std::size_t i = 0; i < samples; ++i) {
            double const t = trace.time(i);
            y[i] = detector.offset + detector.drift_per_s * t +
                   detector.wander * std::sin(2 * std::numbers::pi * t / detector.wander_period_s);
            for (auto const& kick : detector.kicks) y[i] += kick_signal(kick, t);
            for (auto const& passage : detector.passages) y[i] += passage_signal(passage, t);
        }
        for (auto const& peak : detector.peaks) {
            double const reach = 9 * peak.sigma, tail = 40 * peak.tau;
            auto const index = [&](double t) {
                return static_cast<std::size_t>(
                    std::clamp(t / options.interval_s, 0.0, static_cast<double>(samples)));
            };
            for (std::size_t i = index(peak.mu - reach); i < index(peak.mu + reach + tail); ++i)
                y[i] += value(peak, trace.time(i));
        }
        RandomStream random(options.seed, options.run * 64 + d);
        Flicker flicker(detector.flicker_noise, options.interval_s, random);
        std::vector<float> signal(samples);
        for (std::size_t i = 0; i < samples; ++i) {
            if (detector.white_noise > 0) y[i] += detector.white_noise * random.normal();
            if (detector.flicker_noise > 0) y[i] += flicker.next();
            if (detector.quantum > 0) y[i] = detector.quantum * std::round(y[i] / detector.quantum);
            signal[i] = static_cast<float>(std::clamp(y[i], detector.low, detector.high));
        }
        trace.signals.push_back(std::move(signal));
    }
    return trace;
}

}  // namespace gw::trace
