#include "bench/sum.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace gw::bench {
namespace {

Result<gas::Composition> no_files(std::string const& name, std::string const& where) {
    return fail(Errc::io, "no file " + name, where);
}

TEST(Units, ReadWhatPeopleWrite) {
    auto const read = [](char const* text, Dimension d, char const* usual) {
        return read_quantity(text, d, usual, "--x");
    };
    auto const a = read("50 +- 0.5 mL", Dimension::volume, "L").value();
    EXPECT_NEAR(a.si.value, 50e-6, 1e-18);
    EXPECT_NEAR(a.si.u, 0.5e-6, 1e-18);
    EXPECT_NEAR(read("68degF", Dimension::temperature, "degC")->si.value, 293.15, 1e-9);
    EXPECT_NEAR(read("20±0.1", Dimension::temperature, "degC")->si.u, 0.1, 1e-12);
    EXPECT_NEAR(read("-5", Dimension::temperature, "degC")->si.value, 268.15, 1e-9);
    EXPECT_NEAR(read("1e-4 mbar L/s", Dimension::leak_rate, "mbar L/s")->si.value, 1e-5, 1e-18);
    EXPECT_NEAR(read("14.696 psi", Dimension::pressure, "kPa")->si.value, 101325, 30);
    EXPECT_TRUE(read("2 barg", Dimension::pressure, "bar")->gauge);
    EXPECT_NEAR(read("1 ft3/h", Dimension::flow, "L/min")->si.value, 0.028316846592 / 3600, 1e-15);
    EXPECT_FALSE(read("5 apples", Dimension::volume, "L"));
    EXPECT_FALSE(read("five", Dimension::volume, "L"));
    EXPECT_FALSE(read("5 +- -1 L", Dimension::volume, "L"));
    EXPECT_FALSE(read("5 bar", Dimension::volume, "L"));
    EXPECT_FALSE(read("", Dimension::volume, "L"));
}

TEST(Sums, EveryOneNamesFormulaSourceAndExample) {
    EXPECT_EQ(sum_kinds().size(), 10U);
    for (auto const& kind : sum_kinds()) {
        EXPECT_FALSE(kind.formula.empty()) << kind.name;
        EXPECT_FALSE(kind.source.empty()) << kind.name;
        EXPECT_FALSE(kind.example.empty()) << kind.name;
        for (auto const& field : kind.fields)
            if (field.form == SumField::Form::quantity) {
                EXPECT_NE(find_unit(field.unit, field.dimension), nullptr)
                    << kind.name << " " << field.key;
            }
    }
}

TEST(Sums, AFileAndOptionsGiveTheSame) {
    auto const& kind = *find_sum("leak");
    auto const document = parse_json(
        R"({"volume": {"value": 50, "u": 1, "unit": "mL"}, "p1": "4 +- 0.01 barg", "p2": 498, "t1": 20,
            "t2": "68 degF", "time": 10, "ambient": 100})",
        "leak.json");
    auto const of_file = read_sum_inputs(kind, document->root(), {}, no_files);
    ASSERT_TRUE(of_file) << of_file.error().what;
    EXPECT_NEAR(of_file->of("p1").value, 500e3, 1e-6);
    auto const typed = read_sum_inputs(kind,
                                       {},
                                       {{"volume", "50 +- 1 mL"},
                                        {"p1", "500 +- 1 kPa"},
                                        {"p2", "498 kPa"},
                                        {"t1", "20"},
                                        {"t2", "20"},
                                        {"time", "600 s"}},
                                       no_files);
    ASSERT_TRUE(typed) << typed.error().what;
    EXPECT_NEAR(
        kind.work(*of_file)->results[0].si.value, kind.work(*typed)->results[0].si.value, 1e-15);
}

TEST(Sums, RefuseWhatTheyDoNotKnowByName) {
    auto const& kind = *find_sum("purge");
    auto const refused = [&](char const* text) {
        auto const document = parse_json(text, "p.json");
        auto const in = read_sum_inputs(kind, document->root(), {}, no_files);
        return in ? std::string() : in.error().where;
    };
    EXPECT_EQ(refused(R"({"to": "10 ppm", "joy": 1})"), "p.json:joy");
    EXPECT_EQ(refused(R"({"from": 1})"), "p.json:to");
    EXPECT_EQ(refused(R"({"to": "10 furlongs"})"), "p.json:to");
}

TEST(Sums, WithoutTemperatureALeakIsMissing) {
    auto const& kind = *find_sum("leak");
    auto const in = read_sum_inputs(kind,
                                    {},
                                    {{"volume", "50 mL"},
                                     {"p1", "500 kPa"},
                                     {"p2", "498 kPa"},
                                     {"time", "10"},
                                     {"limit", "1e-4 mbar L/s"}},
                                    no_files);
    auto const sum = kind.work(*in).value();
    ASSERT_EQ(sum.findings.size(), 1U);
    EXPECT_EQ(sum.findings[0].verdict, metrology::Verdict::missing);
    EXPECT_FALSE(favourable(sum));
}

}  // namespace
}  // namespace gw::bench
