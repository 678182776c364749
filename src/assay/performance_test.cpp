#include "assay/performance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/range_draw.hpp"
#include "base/random.hpp"

namespace gw::assay {
namespace {

// Components with a planted true function: area = sum of coefficients times mol%^z.
struct Planted {
    char const* name;
    double low, high;
    std::vector<double> function;
    [[nodiscard]] double area(double percent) const {
        double y = 0;
        for (std::size_t z = function.size(); z-- > 0;) y = y * percent + function[z];
        return y;
    }
};
std::vector<Planted> const planted = {{"methane", 0.80, 0.96, {20, 95, 0.02}},
                                      {"nitrogen", 0.005, 0.06, {0.5, 110}},
                                      {"ethane", 0.01, 0.10, {0, 130, 0.05}},
                                      {"propane", 0.002, 0.04, {0, 150}}};

Json evaluation(std::size_t gases, double noise, std::uint64_t seed, double u = 1e-5) {
    Json out{{"calibration_gas", 0},
             {"compositions", 2000},
             {"seed", 3},
             {"limits", {{"gross_cv_volume", {{"error_percent", 0.1}}}}}};
    std::vector<double> low, high;
    for (auto const& p : planted) {
        out["range"][p.name] = {p.low, p.high};
        low.push_back(p.low);
        high.push_back(p.high);
    }
    RangeDraw const draw(low, high);
    RandomStream random(seed, 99);
    std::vector<double> x(planted.size());
    for (std::size_t g = 0; g < gases; ++g) {
        draw.draw(5, g, x);
        if (g == 0) x = {0.90, 0.03, 0.05, 0.02};
        Json gas;
        for (std::size_t i = 0; i < planted.size(); ++i) {
            double const shown = x[i] + u * random.normal();
            gas["components"][planted[i].name] = {{"value", shown}, {"u", u}};
            for (int run = 0; run < 10; ++run)
                gas["responses"][planted[i].name].push_back(planted[i].area(100 * x[i]) *
                                                            (1 + noise * random.normal()));
        }
        out["reference_gases"].push_back(gas);
    }
    return out;
}

PerformanceSpec read(Json const& json) {
    auto spec = read_performance_spec(Field(json, "spec:"));
    EXPECT_TRUE(spec) << (spec ? "" : spec.error().what);
    return *spec;
}

TEST(Performance, RecoversThePlantedFunctionsAndTheErrorsTheyMake) {
    auto const json = evaluation(9, 1e-7, 1, 1e-9);
    auto const spec = read(json);
    auto const out = evaluate_performance(spec, 1).value();
    EXPECT_EQ(out.functions[0].order, 2U);
    EXPECT_EQ(out.functions[1].order, 1U);
    EXPECT_NEAR(out.functions[0].fit.coefficients()[2], 0.02, 1e-3);
    // By hand, one composition: raw = F(x)/F(c) c, normalised.
    std::vector<double> const x = {0.84, 0.05, 0.08, 0.03}, c = {90, 3, 5, 2};
    std::vector<double> raw;
    double sum = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        raw.push_back(planted[i].area(100 * x[i]) / planted[i].area(c[i]) * c[i]);
        sum += raw.back();
    }
    auto const at = performance_at(spec, out.functions, x).value();
    for (std::size_t i = 0; i < x.size(); ++i)
        EXPECT_NEAR(at.error[i], 100 * raw[i] / sum - 100 * x[i], 2e-4) << planted[i].name;
}

TEST(Performance, WorkedExampleOfACurvedResponse) {
    // F(x) = x (1 + 1e-4 (x - 90)), calibrated at 90: 85 is read as 84.9575.
    PerformanceSpec spec;
    spec.components = {*gas::find_component("methane")};
    spec.low = {0.8};
    spec.high = {1};
    spec.order = {2};
    for (double const x : {90.0, 80.0, 85.0, 95.0, 100.0})
        spec.gases.push_back({{{x, 1e-6}}, {{x * (1 + 1e-4 * (x - 90))}}});
    auto const f = response_function(spec, 0).value();
    EXPECT_NEAR(f.fit.f(85) / f.fit.f(90) * 90, 84.9575, 1e-9);
}

TEST(Performance, DoesNotDependOnThreads) {
    auto const json = evaluation(7, 2e-4, 1);
    auto const spec = read(json);
    auto const one = performance_json(spec, evaluate_performance(spec, 1).value());
    auto const four = performance_json(spec, evaluate_performance(spec, 4).value());
    EXPECT_EQ(one.dump(), four.dump());
}

// Coverage by simulation: the estimated error of one gas against the error the planted analyser
// really makes when it is calibrated with the certificate as printed.
TEST(Performance, UncertaintyOfAnErrorCoversTheTruth) {
    std::vector<double> const x = {0.84, 0.05, 0.08, 0.03}, c = {90, 3, 5, 2};
    int inside = 0, all = 0;
    for (std::uint64_t seed = 1; seed <= 150; ++seed) {
        auto const json = evaluation(9, 3e-4, seed, 3e-5);
        auto const spec = read(json);
        std::vector<ResponseFunction> functions;
        for (std::size_t i = 0; i < x.size(); ++i)
            functions.push_back(response_function(spec, i).value());
        auto const at = performance_at(spec, functions, x).value();
        RandomStream run(seed, 1234);
        std::vector<double> raw;
        double sum = 0;
        for (std::size_t i = 0; i < x.size(); ++i) {
            double const printed = spec.gases[0].percent[i].value;
            raw.push_back(planted[i].area(100 * x[i]) * (1 + 3e-4 * run.normal()) /
                          planted[i].area(c[i]) * printed);
            sum += raw.back();
        }
        for (std::size_t i = 0; i < x.size(); ++i) {
            double const truth = 100 * (raw[i] / sum - x[i]);
            ++all;
            if (std::abs(at.error[i] - truth) <= 2 * at.u[i]) ++inside;
        }
    }
    EXPECT_GE(inside, 0.92 * all);
    EXPECT_LE(inside, 0.995 * all);
}

TEST(Performance, AWrongCertificateEntryDoesNotFitAndWidens) {
    auto json = evaluation(7, 2e-4, 1, 2e-5);
    json["reference_gases"][3]["components"]["propane"]["value"] =
        json["reference_gases"][3]["components"]["propane"]["value"].get<double>() * 1.05;
    auto const spec = read(json);
    auto const out = evaluate_performance(spec).value();
    EXPECT_FALSE(out.functions[3].fits);
    EXPECT_GT(out.functions[3].widened, 1.5);
}

TEST(Performance, OneOrTwoGasesGiveAReducedAnswerWithMoreUncertainty) {
    auto const many = evaluate_performance(read(evaluation(9, 1e-4, 1))).value();
    auto const two = evaluate_performance(read(evaluation(2, 1e-4, 1))).value();
    auto const one = evaluate_performance(read(evaluation(1, 1e-4, 1))).value();
    EXPECT_FALSE(many.reduced);
    EXPECT_TRUE(two.reduced);
    EXPECT_TRUE(one.reduced);
    EXPECT_GT(one.properties[0].u, many.properties[0].u);
    EXPECT_FALSE(one.warnings.empty());
}

TEST(Performance, DrawsStayInsideTheRangeAndSumToOne) {
    std::vector<double> const low = {0.7, 0.0, 0.0, 0.001}, high = {0.98, 0.1, 0.2, 0.05};
    RangeDraw const draw(low, high);
    std::vector<double> x(4);
    for (std::uint64_t k = 0; k < 1000; ++k) {
        EXPECT_TRUE(draw.draw(1, k, x));
        double sum = 0;
        for (std::size_t i = 0; i < 4; ++i) {
            EXPECT_GE(x[i], low[i]);
            EXPECT_LE(x[i], high[i]);
            sum += x[i];
        }
        EXPECT_NEAR(sum, 1, 1e-12);
    }
    // Hardly any room: still inside, and said not to be even.
    std::vector<double> const tight_low = {0.5, 0.0, 0.0}, tight_high = {0.50001, 0.2501, 0.25};
    RangeDraw const tight(tight_low, tight_high);
    EXPECT_FALSE(tight.draw(1, 1, std::span(x).first(3)));
    EXPECT_NEAR(x[0] + x[1] + x[2], 1, 1e-12);
}

TEST(Performance, RefusesWhatCannotBeEvaluated) {
    auto const refused = [](Json const& json, char const* where) {
        auto const spec = read_performance_spec(Field(json, "e.json:"));
        ASSERT_FALSE(spec);
        EXPECT_NE(spec.error().where.find(where), std::string::npos) << spec.error().where;
    };
    auto json = evaluation(3, 1e-4, 1);
    auto bad = json;
    bad["range"]["methane"] = {0.1, 0.2};
    refused(bad, "range");
    bad = json;
    bad["calibration_gas"] = 3;
    refused(bad, "calibration_gas");
    bad = json;
    bad["limits"] = {{"joy", {{"error_percent", 1}}}};
    refused(bad, "joy");
    bad = json;
    bad["reference_gases"][0]["components"].erase("ethane");
    refused(bad, "reference_gases");
    bad = json;
    bad["order"] = {{"methane", 4}};
    refused(bad, "order");
}

}  // namespace
}  // namespace gw::assay
