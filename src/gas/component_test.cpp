#include "gas/component.hpp"

#include <gtest/gtest.h>

#include <set>
#include <string>

namespace gw::gas {
namespace {

std::string named(std::string_view text) {
    auto const component = find_component(text);
    return component ? std::string(name(*component)) : "nothing";
}

TEST(ComponentNames, EveryFirstNameFindsItself) {
    std::set<std::string_view> seen;
    for (std::uint8_t i = 0; i < component_count; ++i) {
        auto const found = find_component(name(Component{i}));
        ASSERT_TRUE(found) << name(Component{i});
        EXPECT_EQ(found->index, i);
        seen.insert(name(*found));
    }
    EXPECT_EQ(seen.size(), component_count);
}

TEST(ComponentNames, UsualShortFormsAreUnderstood) {
    for (auto const& [text, meaning] : std::initializer_list<std::pair<char const*, char const*>>{
             {"C1", "methane"},
             {"c2", "ethane"},
             {"C3", "propane"},
             {"iC4", "isobutane"},
             {"i-C4", "isobutane"},
             {"i-butane", "isobutane"},
             {"2-methylpropane", "isobutane"},
             {"2-Methyl Propane", "isobutane"},
             {"nC4", "n-butane"},
             {"n-C4", "n-butane"},
             {"N_BUTANE", "n-butane"},
             {"butane", "n-butane"},
             {"neoC5", "neopentane"},
             {"2,2-dimethylpropane", "neopentane"},
             {"IC5", "isopentane"},
             {"2-methylbutane", "isopentane"},
             {"nC5", "n-pentane"},
             {"pentane", "n-pentane"},
             {"C6", "n-hexane"},
             {"nC6", "n-hexane"},
             {"hexane", "n-hexane"},
             {"C7", "n-heptane"},
             {"C8", "n-octane"},
             {"C9", "n-nonane"},
             {"C10", "n-decane"},
             {"nC10", "n-decane"},
             {"CO2", "carbon dioxide"},
             {"N2", "nitrogen"},
             {"O2", "oxygen"},
             {"H2", "hydrogen"},
             {"He", "helium"},
             {"Ar", "argon"},
             {"H2O", "water"},
             {"water vapour", "water"},
             {"H2S", "hydrogen sulfide"},
             {"hydrogen sulphide", "hydrogen sulfide"},
             {"CO", "carbon monoxide"},
             {"COS", "carbonyl sulfide"},
             {"carbonyl sulphide", "carbonyl sulfide"},
             {"2MP", "2-methylpentane"},
             {"3MP", "3-methylpentane"},
             {"22DMB", "2,2-dimethylbutane"},
             {"2,3-DMB", "2,3-dimethylbutane"},
             {"MCP", "methylcyclopentane"},
             {"ethene", "ethylene"},
             {"ethyne", "acetylene"},
             {"C6+", "C6+"},
             {"C6 plus", "C6+"},
             {"hexanes+", "C6+"},
             {"Hexanes Plus", "C6+"}})
        EXPECT_EQ(named(text), meaning) << text;
}

TEST(ComponentNames, WhatCouldMeanTwoThingsMeansNothing) {
    for (auto const* text : {"C4",
                             "C5",
                             "butanes",
                             "pentanes",
                             "hexanes",
                             "C4H10",
                             "C5H12",
                             "xylene",
                             "C5+",
                             "C7+",
                             "",
                             "+",
                             "air",
                             "methan",
                             "methane2",
                             "unobtainium"})
        EXPECT_EQ(named(text), "nothing") << text;
}

TEST(ComponentNames, TheErrorNamesWhatWasNotUnderstood) {
    auto const wrong = require_component("unobtainium", "gas.json:components.unobtainium");
    ASSERT_FALSE(wrong);
    EXPECT_NE(wrong.error().what.find("\"unobtainium\""), std::string::npos);
    EXPECT_EQ(wrong.error().where, "gas.json:components.unobtainium");
}

TEST(Components, KnowTheirAtoms) {
    auto const methanol = *find_component("methanol");
    EXPECT_EQ(atoms(methanol, Element::C), 1);
    EXPECT_EQ(atoms(methanol, Element::H), 4);
    EXPECT_EQ(atoms(methanol, Element::O), 1);
    EXPECT_FALSE(is_hydrocarbon(methanol));
    EXPECT_TRUE(is_hydrocarbon(*find_component("benzene")));
    EXPECT_FALSE(is_hydrocarbon(*find_component("hydrogen")));
    EXPECT_FALSE(is_hydrocarbon(*find_component("carbon disulfide")));
    EXPECT_EQ(carbon_number(*find_component("toluene")), 7);
    EXPECT_EQ(carbon_number(c6_plus), 6);
    EXPECT_EQ(atoms(c6_plus, Element::H), 0);
}

TEST(Components, BelongToTheLumpedPeakFromCarbonNumberSixAndCyclopentane) {
    for (auto const* text :
         {"n-hexane", "benzene", "cyclopentane", "toluene", "n-pentadecane", "C6+"})
        EXPECT_TRUE(belongs_to_c6_plus(*find_component(text))) << text;
    for (auto const* text : {"n-pentane", "neopentane", "1-pentene", "nitrogen", "methanol"})
        EXPECT_FALSE(belongs_to_c6_plus(*find_component(text))) << text;
}

}  // namespace
}  // namespace gw::gas
