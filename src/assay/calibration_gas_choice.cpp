#include "assay/calibration_gas_choice.hpp"

#include <algorithm>
#include <cmath>

namespace gw::assay {

namespace {

constexpr std::size_t cv = static_cast<std::size_t>(gas::RealProperty::gross_cv_volume);

// The others make room in proportion to what they have, so that the sum is one again.
bool settle(PerformanceSpec const& spec, std::vector<double>& x, std::size_t but) {
    double sum = 0;
    for (double const each : x) sum += each;
    double const excess = sum - 1;
    double room = 0;
    for (std::size_t j = 0; j < x.size(); ++j)
        if (j != but) room += excess > 0 ? x[j] - spec.low[j] : spec.high[j] - x[j];
    if (std::abs(excess) > room || !(room > 0)) return std::abs(excess) < 1e-12;
    for (std::size_t j = 0; j < x.size(); ++j)
        if (j != but)
            x[j] -= excess * (excess > 0 ? x[j] - spec.low[j] : spec.high[j] - x[j]) / room;
    return true;
}

}  // namespace

CalibrationGases::CalibrationGases(PerformanceSpec const& spec,
                                   std::vector<ResponseFunction> const& functions,
                                   gas::PropertySums const& sums,
                                   RangeDraw const& draw)
    : functions_(functions), sums_(sums), n_(spec.components.size()) {
    constexpr std::size_t handful = 400;
    std::vector<double> x(n_);
    for (std::size_t k = 0; k < handful; ++k) {
        draw.draw(spec.seed, k, x);
        truth_.push_back(sums_.values(x)[cv]);
        for (std::size_t i = 0; i < n_; ++i)
            area_.push_back(std::max(functions_[i].fit.f(100 * x[i]), 0.0));
    }
}

CalibrationGasScore CalibrationGases::score(std::vector<double> x) const {
    CalibrationGasScore out{std::move(x), 0, 0};
    std::vector<double> per_area(n_), shown(n_);
    for (std::size_t i = 0; i < n_; ++i) {
        double const area = functions_[i].fit.f(100 * out.x[i]);
        per_area[i] = area > 0 ? out.x[i] / area : 0;
    }
    for (std::size_t k = 0; k < truth_.size(); ++k) {
        double sum = 0;
        for (std::size_t i = 0; i < n_; ++i) {
            shown[i] = area_[k * n_ + i] * per_area[i];
            sum += shown[i];
        }
        for (double& each : shown) each /= sum;
        double const error = 100 * (sums_.values(shown)[cv] / truth_[k] - 1);
        out.rms_percent += error * error;
        if (std::abs(error) > std::abs(out.largest_percent)) out.largest_percent = error;
    }
    out.rms_percent = std::sqrt(out.rms_percent / static_cast<double>(truth_.size()));
    return out;
}

CalibrationGasScore CalibrationGases::best(PerformanceSpec const& spec,
                                           CalibrationGasScore start) const {
    for (double step = 0.25; step > 0.01; step *= 0.5) {
        bool moved = true;
        for (int round = 0; moved && round < 4; ++round) {
            moved = false;
            for (std::size_t i = 0; i < n_; ++i)
                for (double const way : {step, -step}) {
                    auto x = start.x;
                    double const wanted = way * (spec.high[i] - spec.low[i]);
                    x[i] = std::clamp(x[i] + wanted, spec.low[i], spec.high[i]);
                    if (!settle(spec, x, i)) continue;
                    if (!(x[i] > 0)) continue;
                    auto const next = score(std::move(x));
                    if (next.rms_percent < start.rms_percent * (1 - 1e-6)) {
                        start = next;
                        moved = true;
                    }
                }
        }
    }
    return start;
}

std::vector<std::vector<double>> designed_gases(PerformanceSpec const& spec,
                                                RangeDraw const& draw) {
    constexpr std::size_t wanted = 7, drawn = 600;  // ISO 6143: seven for a third order
    std::size_t const n = spec.components.size();
    std::vector<std::vector<double>> candidates(drawn, std::vector<double>(n));
    std::vector<double> middle(n, 0.0);
    for (std::size_t k = 0; k < drawn; ++k) {
        draw.draw(spec.seed + 1, k, candidates[k]);
        for (std::size_t i = 0; i < n; ++i) middle[i] += candidates[k][i] / drawn;
    }
    auto const distance = [&](std::vector<double> const& a, std::vector<double> const& b) {
        double d = 0;
        for (std::size_t i = 0; i < n; ++i)
            if (double const span = spec.high[i] - spec.low[i]; span > 0)
                d += (a[i] - b[i]) * (a[i] - b[i]) / (span * span);
        return d;
    };
    std::vector<std::vector<double>> out{middle};
    std::vector<double> nearest(drawn);
    for (std::size_t k = 0; k < drawn; ++k) nearest[k] = distance(candidates[k], middle);
    while (out.size() < wanted) {
        auto const next = static_cast<std::size_t>(
            std::max_element(nearest.begin(), nearest.end()) - nearest.begin());
        out.push_back(candidates[next]);
        for (std::size_t k = 0; k < drawn; ++k)
            nearest[k] = std::min(nearest[k], distance(candidates[k], out.back()));
    }
    return out;
}

}  // namespace gw::assay
