#include "gas/composition.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

namespace gw::gas {
namespace {

Result<Composition> read(std::string const& text) {
    auto const document = parse_json(text, "gas.json");
    if (!document) return pass_on(document.error());
    return read_composition(document->root());
}

Error refusal(std::string const& text) {
    auto const gas = read(text);
    EXPECT_FALSE(gas) << text;
    return gas ? Error{} : gas.error();
}

double fraction(Composition const& gas, char const* name) {
    return gas.fraction(*find_component(name));
}

TEST(ReadComposition, KeepsTheOrderOfTheFileAndDoesNotNormalise) {
    auto const gas =
        read(R"({"unit":"mol/mol","components":{"nitrogen":0.02,"C1":0.9,"iC4":0.01}})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    EXPECT_EQ(name(gas->components[0]), "nitrogen");
    EXPECT_EQ(name(gas->components[2]), "isobutane");
    EXPECT_DOUBLE_EQ(gas->total(), 0.93);
    EXPECT_TRUE(gas->V.empty());
    EXPECT_EQ(fraction(*gas, "propane"), 0.0);
}

TEST(ReadComposition, TakesUncertaintiesInTheUnitOfTheFile) {
    auto const gas = read(
        R"({"unit":"mol%","components":{"methane":90,"ethane":{"value":10,"u":0.2}},"standard_uncertainty":{"C1":0.1}})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    auto const u = standard_uncertainties(gas->V);
    EXPECT_NEAR(u[0], 0.001, 1e-15);
    EXPECT_NEAR(u[1], 0.002, 1e-15);
    EXPECT_EQ(gas->V(0, 1), 0.0);
}

TEST(ReadComposition, AnUncertaintyNotStatedIsZeroAndNoneAtAllIsNoMatrix) {
    auto const some = read(
        R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.1},"standard_uncertainty":{"ethane":0.001}})");
    ASSERT_TRUE(some);
    EXPECT_EQ(some->V(0, 0), 0.0);
    EXPECT_GT(some->V(1, 1), 0.0);
    auto const none =
        read(R"({"unit":"mol/mol","components":{"methane":1},"standard_uncertainty":{}})");
    ASSERT_TRUE(none);
    EXPECT_TRUE(none->V.empty());
}

TEST(ReadComposition, CovarianceIsInTheSquareOfTheUnitAndMayBePermutedOrPartial) {
    auto const gas = read(R"({"unit":"mol%","components":{"methane":90,"ethane":9,"propane":1},
        "component_order":["C2","C1"],"covariance":[[0.04,-0.01],[-0.01,0.01]]})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    EXPECT_NEAR(gas->V(0, 0), 1e-6, 1e-18);
    EXPECT_NEAR(gas->V(1, 1), 4e-6, 1e-18);
    EXPECT_NEAR(gas->V(0, 1), -1e-6, 1e-18);
    EXPECT_EQ(gas->V(0, 1), gas->V(1, 0));
    EXPECT_EQ(gas->V(2, 2), 0.0);
}

TEST(ReadComposition, ACovarianceForSomeKeepsTheStatedUncertaintyOfTheOthers) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.1},
        "standard_uncertainty":{"ethane":0.002},"component_order":["methane"],"covariance":[[1e-6]]})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    EXPECT_NEAR(gas->V(0, 0), 1e-6, 1e-18);
    EXPECT_NEAR(gas->V(1, 1), 4e-6, 1e-18);
}

TEST(ReadComposition, CorrelationTakesTheStatedUncertainties) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.1},
        "standard_uncertainty":{"methane":0.002,"ethane":0.001},"correlation":[[1,-0.5],[-0.5,1]]})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    EXPECT_NEAR(gas->V(0, 1), -1e-6, 1e-18);
}

TEST(ReadComposition, TakesTheCompositionInsideAnotherDocument) {
    auto const gas = read(R"({"schema":"gaswright.run/1","unnormalised_total":99.8,
        "composition":{"schema":"gaswright.composition/1","unit":"mol/mol","components":{"methane":1}}})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    EXPECT_EQ(gas->x[0], 1.0);
}

TEST(ReadComposition, ScalesTheSplitToOneExactly) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0.99,"C6+":0.01},
        "characterisation":{"C6+":{"n-hexane":0.5,"C7":0.4995}}})");
    ASSERT_TRUE(gas) << one_line(gas.error());
    ASSERT_EQ(gas->characterisation.parts.size(), 2U);
    EXPECT_NEAR(
        gas->characterisation.parts[0].second + gas->characterisation.parts[1].second, 1.0, 1e-15);
}

TEST(ReadComposition, EveryRefusalNamesThePlace) {
    std::string const two = R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.1},)";
    for (auto const& [body, where, words] : std::vector<std::array<std::string, 3>>{
             {R"([1])", "gas.json", "one JSON object"},
             {R"({"schema":"gaswright.method/1","unit":"mol/mol","components":{"methane":1}})",
              "gas.json:schema",
              "method"},
             {R"({"components":{"methane":1}})", "gas.json", "\"unit\" is missing"},
             {R"({"unit":"vol%","components":{"methane":1}})", "gas.json:unit", "vol%"},
             {R"({"unit":"mol/mol"})", "gas.json", "\"components\" is missing"},
             {R"({"unit":"mol/mol","components":{}})", "gas.json:components", "no components"},
             {R"({"unit":"mol/mol","components":{"unobtainium":1}})",
              "gas.json:components.unobtainium",
              "unobtainium"},
             {R"({"unit":"mol/mol","components":{"C4":1}})", "gas.json:components.C4", "C4"},
             {R"({"unit":"mol/mol","components":{"methane":-0.1}})",
              "gas.json:components.methane",
              "never negative"},
             {R"({"unit":"mol/mol","components":{"methane":"0.9"}})",
              "gas.json:components.methane",
              "number"},
             {R"({"unit":"mol/mol","components":{"methane":1e30}})",
              "gas.json:components.methane",
              "too much"},
             {R"({"unit":"mol/mol","components":{"methane":0.9,"C1":0.1}})",
              "gas.json:components.C1",
              "already"},
             {two + R"("standard_uncertainty":{"propane":0.1}})",
              "gas.json:standard_uncertainty.propane",
              "no propane"},
             {two + R"("standard_uncertainty":{"ethane":-0.1}})",
              "gas.json:standard_uncertainty.ethane",
              "negative"},
             {two + R"("covariance":[[1]]})", "gas.json:covariance", "2 components"},
             {two + R"("covariance":[[1,0],[0]]})", "gas.json:covariance[1]", "1 entries"},
             {two + R"("covariance":[[1e-6,1e-7],[2e-7,1e-6]]})", "gas.json:covariance", "mirror"},
             {two + R"("covariance":[[1e-6,2e-6],[2e-6,1e-6]]})",
              "gas.json:covariance",
              "beyond one"},
             {two + R"("covariance":[[-1e-6,0],[0,1e-6]]})", "gas.json:covariance", "negative"},
             {two + R"("covariance":[[1e-6,0],[0,1e-6]],"correlation":[[1,0],[0,1]]})",
              "gas.json:correlation",
              "Both"},
             {two + R"("covariance":[[1e-6,0],[0,1e-6]],"standard_uncertainty":{"methane":0.1}})",
              "gas.json:covariance",
              "variance of methane"},
             {two + R"("correlation":[[1,0],[0,1]]})",
              "gas.json:correlation",
              "needs standard uncertainties"},
             {two + R"("standard_uncertainty":{"ethane":0.1},"correlation":[[0.5,0],[0,1]]})",
              "gas.json:correlation",
              "not 1"},
             {two + R"("component_order":["methane","propane"],"covariance":[[1,0],[0,1]]})",
              "gas.json:component_order[1]",
              "no propane"},
             {two + R"("component_order":["methane","C1"],"covariance":[[1,0],[0,1]]})",
              "gas.json:component_order[1]",
              "twice"},
             {two + R"("characterisation":{"C6+":{"n-hexane":0.9}}})",
              "gas.json:characterisation.C6+",
              "0.9"},
             {two + R"("characterisation":{"C6+":{"C6+":1}}})",
              "gas.json:characterisation.C6+.C6+",
              "itself"},
             {two + R"("characterisation":{"ethane":{"C6":1}}})",
              "gas.json:characterisation.ethane",
              "Only C6+"},
         }) {
        auto const error = refusal(body);
        EXPECT_EQ(error.where, where) << body;
        EXPECT_NE(error.what.find(words), std::string::npos) << body << "\n" << error.what;
    }
}

TEST(ReadComposition, RefusesAMatrixWhosePairsAreFineButWhoseWholeIsNot) {
    auto const error =
        refusal(R"({"unit":"mol/mol","components":{"methane":0.8,"ethane":0.1,"propane":0.1},
        "covariance":[[1e-6,-0.9e-6,-0.9e-6],[-0.9e-6,1e-6,-0.9e-6],[-0.9e-6,-0.9e-6,1e-6]]})");
    EXPECT_NE(error.what.find("No amounts can have"), std::string::npos);
}

TEST(CheckedTotal, RefusesBeyondAThousandthAndKeepsTheGasWithin) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.099}})");
    EXPECT_TRUE(with_checked_total(*gas, {}, "gas.json")) << "0.999 is on the limit";
    auto const low = read(R"({"unit":"mol/mol","components":{"methane":0.9,"ethane":0.0989}})");
    auto const refused = with_checked_total(*low, {}, "gas.json");
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().where, "gas.json");
    EXPECT_NE(refused.error().what.find("0.9989"), std::string::npos);
    auto const scaled = with_checked_total(*low, {.normalise = true}, "gas.json");
    ASSERT_TRUE(scaled);
    EXPECT_NEAR(scaled->first.total(), 1.0, 1e-15);
    EXPECT_DOUBLE_EQ(scaled->second.total, 0.9989);
    EXPECT_TRUE(scaled->second.normalised);
}

TEST(CheckedTotal, RefusesAGasOfNothing) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0}})");
    EXPECT_FALSE(with_checked_total(*gas, {.normalise = true}, "gas.json"));
}

TEST(Expanded, PutsTheSplitInPlaceOfTheLumpAndAddsToWhatIsThere) {
    auto const gas =
        read(R"({"unit":"mol/mol","components":{"methane":0.97,"C6+":0.01,"n-hexane":0.02},
        "standard_uncertainty":{"C6+":0.001,"n-hexane":0.002},
        "characterisation":{"C6+":{"n-hexane":0.6,"n-heptane":0.4}}})");
    auto const out = expanded(*gas, default_characterisation());
    EXPECT_EQ(fraction(out, "C6+"), 0.0);
    EXPECT_NEAR(fraction(out, "n-hexane"), 0.026, 1e-15);
    EXPECT_NEAR(fraction(out, "n-heptane"), 0.004, 1e-15);
    EXPECT_NEAR(out.V(1, 1), 4e-6 + 0.36e-6, 1e-18);
    EXPECT_NEAR(out.V(1, 2), 0.24e-6, 1e-18);
    EXPECT_NEAR(out.total(), gas->total(), 1e-15);
}

TEST(Expanded, TakesTheDefaultSplitOnlyWhenTheGasHasNone) {
    auto const gas = read(R"({"unit":"mol/mol","components":{"methane":0.99,"C6+":0.01}})");
    auto const out = expanded(*gas, default_characterisation());
    EXPECT_NEAR(fraction(out, "n-octane"), 0.0017194, 1e-15);
    auto const dry = read(R"({"unit":"mol/mol","components":{"methane":1}})");
    EXPECT_EQ(expanded(*dry, default_characterisation()).components.size(), 1U);
}

TEST(DefaultCharacterisation, AddsUpToOne) {
    double sum = 0;
    for (auto const& part : default_characterisation().parts) sum += part.second;
    EXPECT_NEAR(sum, 1.0, 1e-12);
}

}  // namespace
}  // namespace gw::gas
