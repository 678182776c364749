// Sensitivity of the calorific value and splits of C6+, data/published/composition.json. Its molar
// values are ISO 6976:2016 at 15 degC, recalled: their last digit bounds the comparison.
#include <gtest/gtest.h>

#include "gas/iso6976.hpp"
#include "published_rows.hpp"

namespace gw::gas {
namespace {

double molar_cv(std::vector<Component> const& components, std::vector<double> const& x) {
    Composition gas;
    gas.components = components;
    gas.x = x;
    return iso6976(normalised(gas), {})->ideal.gross_cv_molar.value;
}

// Of a heavy gas by itself, which the standard's compression factor does not cover: its share in
// methane, the molar value being a sum of amounts.
double heavy_cv(std::vector<Component> components, std::vector<double> x) {
    double total = 0;
    for (double const each : x) total += each;
    constexpr double share = 0.02;
    for (double& each : x) each *= share / total;
    components.push_back(*find_component("methane"));
    x.push_back(1 - share);
    return (molar_cv(components, x) - (1 - share) * molar_cv({components.back()}, {1})) / share;
}

TEST(PublishedComposition, AHundredthOfAMolePercentOfEachComponent) {
    auto const& r = published_row("composition", "cv_sens");
    std::vector<Component> components;
    std::vector<double> x;
    std::vector<std::string> names;
    for (auto const& [name, percent] : r["inputs"]["mol_percent"].items()) {
        auto const known = find_component(name == "C6"     ? "n-hexane"
                                          : name == "CH4"  ? "methane"
                                          : name == "C2H6" ? "ethane"
                                          : name == "C3H8" ? "propane"
                                                           : name);
        ASSERT_TRUE(known) << name;
        components.push_back(*known);
        names.push_back(name);
        x.push_back(percent.get<double>() / 100);
    }
    EXPECT_NEAR(molar_cv(components, x), r["expected"]["Hmix"], 0.01);
    double const before = molar_cv(components, x);
    for (std::size_t i = 0; i < x.size(); ++i) {
        // A small step, scaled up: the printed figure is the derivative.
        auto more = x;
        more[i] += 1e-6;
        double const percent = 100 * (molar_cv(components, more) / before - 1) * 100;
        EXPECT_NEAR(percent, r["expected"]["percent_per_0.01"][names[i]], 1e-6) << names[i];
    }
}

TEST(PublishedComposition, SplitsOfTheHeavyEnd) {
    auto const& r = published_row("composition", "c6plus");
    std::vector<Component> const parts = {
        *find_component("n-hexane"), *find_component("n-heptane"), *find_component("n-octane")};
    for (auto const& [name, split] : r["inputs"]["splits"].items()) {
        auto x = numbers(split);
        EXPECT_NEAR(heavy_cv(parts, x), r["expected"]["H_mix"][name], 0.02) << name;
    }
    // A tenth of a mole percent of the usual split valued as hexane, in the gas of the row above.
    auto const usual = default_characterisation();
    ASSERT_EQ(usual.parts.size(), 3U);
    double split = 0;
    for (auto const& [part, share] : usual.parts) split += share * heavy_cv({part}, {1});
    double const loss = 100 * 0.001 * (split - heavy_cv({parts[0]}, {1})) /
                        published_row("composition", "cv_sens")["expected"]["Hmix"].get<double>();
    EXPECT_NEAR(loss, r["expected"]["cv_loss_percent_0.1mol_as_C6"], 2e-6);
}

}  // namespace
}  // namespace gw::gas
