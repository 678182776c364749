#include "assay/method.hpp"

#include <gtest/gtest.h>

namespace gw::assay {
namespace {

Result<Method> read(std::string const& text) {
    auto const document = parse_json(text, "m.json");
    if (!document) return pass_on(document.error());
    return read_method(document->root());
}

gas::Component component(char const* name) { return *gas::find_component(name); }

TEST(MethodFile, SendsAComponentToThePeakThatNamesIt) {
    auto const m = read(R"({"cycle_s":240,"peaks":[
        {"component":"C6+","retention_s":40,"window_s":4,"includes":["benzene"]},
        {"component":"n-butane","retention_s":80,"window_s":3,"includes":["neopentane"]}]})");
    ASSERT_TRUE(m) << m.error().what;
    EXPECT_EQ(m->peak_of(component("n-butane"))->component, component("n-butane"));
    EXPECT_EQ(m->peak_of(component("neopentane"))->component, component("n-butane"));
    for (auto const* heavy : {"benzene", "n-heptane", "2-methylpentane", "cyclopentane"})
        EXPECT_EQ(m->peak_of(component(heavy))->component, gas::c6_plus) << heavy;
    EXPECT_EQ(m->peak_of(component("propane")), nullptr);
}

TEST(MethodFile, TakesTheTwinsReportedAsAsIncluded) {
    auto const m =
        read(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":4}],
        "oven":{"components":[{"component":"propylene","reported_as":"propane"}]}})");
    ASSERT_TRUE(m) << m.error().what;
    EXPECT_EQ(m->peak_of(component("propylene"))->component, component("propane"));
}

TEST(MethodFile, NamesTheFieldThatIsWrong) {
    auto const place = [](char const* text) {
        auto const m = read(text);
        return m ? std::string("accepted") : m.error().where;
    };
    EXPECT_EQ(place(R"({"peaks":[]})"), "m.json");
    EXPECT_EQ(place(R"({"cycle_s":240,"peaks":[]})"), "m.json:peaks");
    EXPECT_EQ(
        place(
            R"({"cycle_s":240,"peaks":[{"component":"unobtainium","retention_s":1,"window_s":1}]})"),
        "m.json:peaks[0].component");
    EXPECT_EQ(
        place(
            R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":400,"window_s":1}]})"),
        "m.json:peaks[0].retention_s");
    EXPECT_EQ(
        place(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":0}]})"),
        "m.json:peaks[0].window_s");
    EXPECT_EQ(
        place(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":2},
        {"component":"C3","retention_s":60,"window_s":2}]})"),
        "m.json")
        << "two names of one component";
    EXPECT_EQ(
        place(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":2}],
        "valve_programme":[{"at_s":5,"action":"a"},{"at_s":4,"action":"b"}]})"),
        "m.json:valve_programme[1].at_s");
    EXPECT_EQ(
        place(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":2}],
        "fixed":{"propane":0.01}})"),
        "m.json:fixed.propane");
    EXPECT_EQ(
        place(R"({"cycle_s":240,"peaks":[{"component":"propane","retention_s":40,"window_s":2}],
        "closure":"by hope"})"),
        "m.json:closure");
}

}  // namespace
}  // namespace gw::assay
