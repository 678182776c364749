// Shapes, resolution, the perpendicular drop and sampling against the rows of
// data/published/chromatography.json; every row names its source there.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>

#include "base/file.hpp"
#include "base/json.hpp"
#include "trace/emg.hpp"
#include "trace/peak_shape.hpp"
#include "trace/peaks.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

Json const& rows() {
    static Json const file = [] {
        auto const path = std::string(GW_SOURCE_DIR) + "/data/published/chromatography.json";
        return parse_json(read_file(path).value(), path).value().root().raw();
    }();
    return file.at("rows");
}

template <class Check>
int each_row(std::string const& start, Check const& check) {
    int seen = 0;
    for (auto const& row : rows()) {
        auto const id = row.at("id").get<std::string>();
        if (id.rfind(start, 0) != 0) continue;
        SCOPED_TRACE(id);
        check(row, row.at("inputs"));
        ++seen;
    }
    return seen;
}

double number(Json const& inputs, char const* key) { return inputs.at(key).get<double>(); }

Emg emg_of(Json const& in) {
    return {number(in, "area"), number(in, "mu"), number(in, "sigma"), number(in, "tau")};
}

// Lowest point of a sum of two peaks between t1 and t2; none when it falls or rises all the way.
std::optional<double> valley(std::function<double(double)> const& sum, double t1, double t2) {
    double const step = (t2 - t1) / 200000;
    double lowest = t1;
    for (double t = t1; t <= t2; t += step)
        if (sum(t) < sum(lowest)) lowest = t;
    bool const inside = lowest > t1 + 2 * step && lowest < t2 - 2 * step;
    return inside ? std::optional(lowest) : std::nullopt;
}

TEST(PublishedChromatography, ValuesOfTheModifiedGaussian) {
    int const seen = each_row("emg-value", [](Json const& row, Json const& in) {
        double const want = row.at("expected").get<double>();
        EXPECT_NEAR(value(emg_of(in), number(in, "t")) / want, 1, number(row, "rel_tol"));
    });
    EXPECT_EQ(seen, 7);
}

TEST(PublishedChromatography, MeasuredShapeOfTheModifiedGaussian) {
    int const seen = each_row("emg-shape", [](Json const& row, Json const& in) {
        auto const peak = emg_of(in);
        auto const& want = row.at("expected");
        // Sampled a hundred times a sigma; the measurement must return the analytic figures.
        double const dt = 0.01;
        std::vector<double> y(4000);
        for (std::size_t i = 0; i < y.size(); ++i)
            y[i] = value(peak, -8 + dt * static_cast<double>(i));
        auto const top = static_cast<std::size_t>(std::max_element(y.begin(), y.end()) - y.begin());
        auto const got = peak_shape(y, 0, y.size(), top, 1, -8, dt, 0);
        double const tau = number(in, "tau");
        // The top is found with a curve of the fourth order: exact to a few thousandths of a sigma.
        EXPECT_NEAR(got.apex_s, number(want, "apex"), 0.004 * (1 + tau));
        EXPECT_NEAR(got.height / number(want, "height"), 1, 1e-3);
        EXPECT_NEAR(got.width_half_s / number(want, "w_half"), 1, 2e-3);
        EXPECT_NEAR(got.asymmetry / number(want, "asymmetry_10"), 1, 0.01);
        double mean = 0, total = 0;
        for (std::size_t i = 0; i < y.size(); ++i)
            mean += y[i] * (-8 + dt * static_cast<double>(i)), total += y[i];
        EXPECT_NEAR(mean / total, number(want, "mean"), 0.02 * (1 + tau));
    });
    EXPECT_EQ(seen, 5);
}

TEST(PublishedChromatography, ResolutionFromHalfWidths) {
    int const seen = each_row("resolution-half", [](Json const& row, Json const& in) {
        // Two Gaussians of just these widths and places, found in a trace.
        SyntheticDetector d;
        for (auto const& [t, w] : {std::pair("t1", "w1"), std::pair("t2", "w2")})
            d.peaks.push_back({100, number(in, t), number(in, w) / 2.354820045030949, 0});
        d.white_noise = 1e-4;
        auto const got = find_peaks(synthesise({d}, {}), 1);
        ASSERT_EQ(got.peaks.size(), 2u);
        EXPECT_NEAR(*got.peaks[0].resolution_next, row.at("expected").get<double>(), 0.003);
    });
    EXPECT_EQ(seen, 1);
}

// What the rule gives is known exactly: the areas on either side of the valley. And the shapes
// fitted to both peaks at once come nearer to the truth.
void drop(Json const& row, Emg const& first, Emg const& second, double unit_s) {
    auto const sum = [&](double t) { return value(first, t) + value(second, t); };
    auto const at = valley(sum, first.mu + 0.5 * first.tau, second.mu + 0.5 * second.tau);
    auto const& want = row.at("expected");
    ASSERT_EQ(at.has_value(), !want.is_null());
    if (!at) return;
    double const tolerance = number(row, "abs_tol");
    if (want.contains("valley_t")) {
        EXPECT_NEAR(*at, number(want, "valley_t"), 1e-3);
    }
    double const left = area_before(first, *at) + area_before(second, *at),
                 all = first.area + second.area;
    double const error_first = 100 * (left / first.area - 1),
                 error_second = 100 * ((all - left) / second.area - 1);
    EXPECT_NEAR(error_first, number(want, "error_first_pct"), tolerance);
    EXPECT_NEAR(error_second, number(want, "error_second_pct"), tolerance);

    SyntheticDetector d;
    for (auto const& p : {first, second})
        d.peaks.push_back(
            {100 * unit_s * p.area, 60 + unit_s * p.mu, unit_s * p.sigma, unit_s * p.tau});
    d.white_noise = 1e-4;
    auto const got = find_peaks(synthesise({d}, {}), 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    for (std::size_t k = 0; k < 2; ++k) {
        double const dropped = std::abs(k == 0 ? error_first : error_second);
        double const fitted = std::abs(100 * (got.peaks[k].area / d.peaks[k].area - 1));
        EXPECT_LT(fitted, std::max(0.25 * dropped, 0.05)) << k;
    }
}

TEST(PublishedChromatography, PerpendicularDropOnTwoGaussiansAndTheFitThatBeatsIt) {
    int const seen = each_row("drop-gauss", [](Json const& row, Json const& in) {
        double const ratio = number(in, "area_ratio_first_to_second"),
                     distance = 4 * number(in, "Rs");
        drop(row, {ratio, 0, 1, 0}, {1, distance, 1, 0}, 0.8);
    });
    EXPECT_EQ(seen, 28);
}

TEST(PublishedChromatography, PerpendicularDropOnTwoTailedPeaksAndTheFitThatBeatsIt) {
    int const seen = each_row("drop-emg", [](Json const& row, Json const& in) {
        double const ratio = number(in, "area_ratio_big_to_small"),
                     distance = number(in, "Rs_by_variance") * 4 * std::sqrt(2.0);
        bool const big_first = in.at("big_first").get<bool>();
        drop(row, {big_first ? ratio : 1, 0, 1, 1}, {big_first ? 1 : ratio, distance, 1, 1}, 0.8);
    });
    EXPECT_EQ(seen, 6);
}

TEST(PublishedChromatography, ValleysOfEqualGaussians) {
    int const seen = each_row("valley-", [](Json const& row, Json const& in) {
        auto const pair = [](double distance) {
            return [distance](double t) {
                return value({1, 0, 1, 0}, t) + value({1, distance, 1, 0}, t);
            };
        };
        if (in.contains("Rs")) {
            double const distance = 4 * number(in, "Rs");
            EXPECT_NEAR(pair(distance)(0.5 * distance) / pair(distance)(0),
                        row.at("expected").get<double>(),
                        number(row, "abs_tol"));
        } else {
            double const limit = number(row.at("expected"), "separation_sigma");
            auto const bend =
                [&](double distance) {  // second difference half way: negative where one top stands
                    double const h = 0.01, m = 0.5 * distance;
                    return pair(distance)(m - h) - 2 * pair(distance)(m) + pair(distance)(m + h);
                };
            EXPECT_LT(bend(0.99 * limit), 0);
            EXPECT_GT(bend(1.01 * limit), 0);
        }
    });
    EXPECT_EQ(seen, 2);
}

TEST(PublishedChromatography, AParabolaThroughTheLogarithmsRestoresTheHeightBetweenSamples) {
    int const seen = each_row("apex-sampling", [](Json const& row, Json const& in) {
        double const step = 4 / number(in, "points_over_4sigma");
        std::vector<double> y;
        for (int i = -20; i < 20; ++i)
            y.push_back(value({1, 0, 1, 0}, step * (i + 0.5)));  // the apex falls mid-way
        double const highest = *std::max_element(y.begin(), y.end()),
                     truth = value({1, 0, 1, 0}, 0);
        EXPECT_NEAR(
            (1 - highest / truth) / row.at("expected").get<double>(), 1, number(row, "rel_tol"));
        auto const got = peak_shape(y, 0, y.size(), 19, 1, -19.5 * step, step, 0);
        EXPECT_NEAR(got.height / truth, 1, 0.002);
        EXPECT_NEAR(got.apex_s, 0, 1e-9);
    });
    EXPECT_EQ(seen, 3);
}

TEST(PublishedChromatography, SumsOfSamplesMissAlmostNothingOfAPeak) {
    int const seen = each_row("trapezium", [](Json const& row, Json const& in) {
        double const dx = number(in, "dx_over_sigma");
        double sum = 0;
        for (int i = -40; i <= 40; ++i) sum += value({1, 0, 1, 0}, dx * i) * dx;
        EXPECT_NEAR((sum - 1) / row.at("expected").get<double>(), 1, number(row, "rel_tol"));
    });
    EXPECT_EQ(seen, 1);
}

TEST(PublishedChromatography, NoiseOfASumIsTheLeastTheStatedUncertaintyMayBe) {
    int const seen = each_row("area-noise", [](Json const& row, Json const& in) {
        SyntheticDetector d;
        d.white_noise = number(in, "noise_sd");
        d.peaks = {{100, 60, 1, 0.3}};
        SynthesisOptions o;
        o.interval_s = 1 / number(in, "fs");
        auto const got = find_peaks(synthesise({d}, o), 1);
        ASSERT_EQ(got.peaks.size(), 1u);
        double const width = got.peaks[0].end_s - got.peaks[0].start_s;
        double const least =
            row.at("expected").get<double>() * std::sqrt(width / number(in, "width_s"));
        EXPECT_GT(got.peaks[0].area_u, 0.9 * least);
        EXPECT_LT(got.peaks[0].area_u, 3 * least);  // the background adds its own
    });
    EXPECT_EQ(seen, 1);
}

}  // namespace
}  // namespace gw::trace
