#include "base/json.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace gw {
namespace {

TEST(JsonReading, NamesTheFieldThatIsWrong) {
    auto const doc = parse_json(R"({"peaks":[{"t":1},{"t":"x"}]})", "m.json");
    ASSERT_TRUE(doc);
    auto const peaks = doc->root().at("peaks")->items();
    auto const t = (*peaks)[1].number("t");
    ASSERT_FALSE(t);
    EXPECT_EQ(t.error().where, "m.json:peaks[1].t");
    auto const none = doc->root().number("cycle_s");
    ASSERT_FALSE(none);
    EXPECT_EQ(none.error().where, "m.json");
    EXPECT_NE(none.error().what.find("cycle_s"), std::string::npos);
}

TEST(JsonReading, NamesTheLineOfASyntaxError) {
    auto const doc = parse_json("{\n \"a\": 1,\n \"b\": }\n", "m.json");
    ASSERT_FALSE(doc);
    EXPECT_EQ(doc.error().where, "m.json:3");
}

TEST(JsonReading, RefusesWhatNoGoodFileHolds) {
    for (auto const* bad : {"",
                            "  ",
                            "{",
                            R"({"a":1}{"b":2})",
                            R"({"a":NaN})",
                            R"({"a":1,"a":2})",
                            R"({"x":{"a":1,"b":{"c":1,"c":2}}})",
                            R"({"a":1e999})"})
        EXPECT_FALSE(parse_json(bad, "f")) << bad;
    EXPECT_FALSE(parse_json(std::string(100000, '['), "f"));
    EXPECT_TRUE(parse_json(R"({"a":{"x":1},"b":{"x":2}})", "f"))
        << "the same key in two objects is fine";
    EXPECT_TRUE(parse_json(R"([{"x":1},{"x":2}])", "f"));
}

TEST(JsonReading, AcceptsAnAbsentSchemaAndRefusesAWrongOne) {
    auto const check = [](char const* text) {
        auto const doc = parse_json(text, "f");
        return static_cast<bool>(require_schema(doc->root(), "method"));
    };
    EXPECT_TRUE(check("{}"));
    EXPECT_TRUE(check(R"({"schema":"gaswright.method/1"})"));
    EXPECT_FALSE(check(R"({"schema":"gaswright.method/2"})"));
    EXPECT_FALSE(check(R"({"schema":"gaswright.cylinder/1"})"));
    EXPECT_FALSE(check("[]"));
}

TEST(JsonWriting, KeepsOrderAndShortestNumbers) {
    EXPECT_EQ(quantity_json({0.1, 0.02}, "MJ/m3").dump(),
              R"({"value":0.1,"u":0.02,"unit":"MJ/m3"})");
}

}  // namespace
}  // namespace gw
