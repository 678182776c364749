#include "trace/report_table.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "base/file.hpp"

namespace gw::trace {
namespace {

gas::Component known(std::string_view name) { return *gas::find_component(name); }

ReportRow const& row(ReportTable const& table, std::string_view name) {
    for (auto const& each : table.rows)
        if (each.component == known(name)) return each;
    static ReportRow const none{};
    ADD_FAILURE() << name << " is missing";
    return none;
}

struct Form {
    char const* name;
    std::string text;
    bool has_area = false;
};

void PrintTo(Form const& form, std::ostream* out) { *out << form.name; }

/// Each holds methane 90.12, carbon dioxide 1.25, 2,2-dimethylbutane 0.005 mol%.
std::vector<Form> forms() {
    return {
        {"own",
         "component,mole_percent\nmethane,90.12\ncarbon "
         "dioxide,1.25\n\"2,2-dimethylbutane\",0.005\n"},
        {"unquoted_name_with_comma",
         "component,mole_percent\nmethane,90.12\ncarbon dioxide,1.25\n2,2-dimethylbutane,0.005\n"},
        {"semicolon_decimal_comma",
         "Name;Mol%\r\nmethane;90,12\r\nCO2;1,25\r\n2,2-dimethylbutane;0,005\r\n"},
        {"tab",
         "Component\tMole %\nmethane\t90.12\ncarbon dioxide\t1.25\n2,2-dimethylbutane\t0.005\n"},
        {"pasted_blanks",
         "Component            Mole %\nmethane           90.12\ncarbon dioxide     "
         "1.25\n2,2-dimethylbutane  0.005\n"},
        {"pasted_with_peak_numbers",
         "Peak  Component       Area  Mole %\n1     methane         10    90.12\n2     carbon "
         "dioxide  2     1.25\n3     2,2-dimethylbutane  1  0.005\n      Total                   "
         "91.375\n",
         true},
        {"number_sign_as_a_title",
         "#\tName\tMol%\n1\tmethane\t90,12\n2\tcarbon "
         "dioxide\t1,25\n3\t2,2-dimethylbutane\t0,005\n"},
        {"single_blanks",
         "component mole_percent\nmethane 90.12\ncarbon dioxide 1.25\n2,2-dimethylbutane 0.005\n"},
        {"no_titles", "methane 90.12\ncarbon dioxide 1.25\n2,2-dimethylbutane 0.005\n"},
        {"no_titles_semicolon", "methane;90,12\ncarbon dioxide;1,25\n2,2-dimethylbutane;0,005\n"},
        {"percent_signs",
         "Compound;Amount [mol%]\nmethane;90.12 %\ncarbon dioxide;1.25%\n2,2-dimethylbutane;0.005 "
         "%\n"},
        {"fractions",
         "name;mole fraction\nmethane;0.9012\ncarbon dioxide;0.0125\n2,2-dimethylbutane;0.00005\n"},
        {"preamble_and_total",
         "Analysis of stream 1\nOperator: N. N.\n\nComponent;Mole%\n---;---\nmethane;90.12\ncarbon "
         "dioxide;1.25\n2,2-dimethylbutane;0.005\nTotal;91.375\n"},
        {"json_list",
         R"([{"component":"methane","mole_percent":90.12},{"component":"CO2","mole_percent":1.25},{"name":"2,2-dimethylbutane","mol%":0.005}])"},
        {"json_object",
         R"({"schema":"gaswright.report/1","factor_kind":"relative","rows":[{"component":"methane","mole_percent":90.12,"area":null},{"component":"carbon dioxide","mole_percent":1.25},{"component":"2,2-dimethylbutane","mole_percent":0.005}]})"},
    };
}

class ReportForm : public testing::TestWithParam<Form> {};

TEST_P(ReportForm, ReadsToTheSameRows) {
    auto const table = read_report(GetParam().text, "r.csv");
    ASSERT_TRUE(table) << one_line(table.error());
    ASSERT_EQ(table->rows.size(), 3U);
    EXPECT_DOUBLE_EQ(*row(*table, "methane").mole_percent, 90.12);
    EXPECT_DOUBLE_EQ(*row(*table, "carbon dioxide").mole_percent, 1.25);
    EXPECT_DOUBLE_EQ(*row(*table, "2,2-dimethylbutane").mole_percent, 0.005);
    EXPECT_NEAR(*table->mole_percent_sum(), 91.375, 1e-9);
    EXPECT_EQ(row(*table, "methane").area.has_value(), GetParam().has_area);
}

INSTANTIATE_TEST_SUITE_P(Every, ReportForm, testing::ValuesIn(forms()), [](auto const& each) {
    return std::string(each.param.name);
});

TEST(ReportTable, ReadsEveryColumnAndHeaderLine) {
    auto const table = read_report(
        "# factor_kind: amount_per_area\n# time_unit: min\n# normalised: yes\n# "
        "unnormalised_total: 99.4\n"
        "# printed_cv: 38.91 MJ/m3\n# detector: TCD, two cells\n# analyser: GC-1\n"
        "component,retention,area,height,mole_percent,factor\n"
        "methane,1.5,1000,50,95,0.095\nethane,2,n/a,-,5,\n",
        "r.csv");
    ASSERT_TRUE(table) << one_line(table.error());
    EXPECT_EQ(table->factor_kind, FactorKind::amount_per_area);
    EXPECT_EQ(table->normalised, true);
    EXPECT_EQ(table->unnormalised_total, 99.4);
    EXPECT_EQ(table->printed_cv, 38.91);
    EXPECT_EQ(table->detector_text, "TCD, two cells");
    EXPECT_EQ(table->header.back(), std::pair(std::string("analyser"), std::string("GC-1")));
    auto const& methane = row(*table, "methane");
    EXPECT_EQ(methane.retention_s, 90);
    EXPECT_EQ(methane.area, 1000);
    EXPECT_EQ(methane.height, 50);
    EXPECT_EQ(methane.factor, 0.095);
    EXPECT_FALSE(row(*table, "ethane").area || row(*table, "ethane").height ||
                 row(*table, "ethane").factor);
}

TEST(ReportTable, TakesTheUnitOfTheTitleBeforeThatOfTheHeader) {
    auto const table =
        read_report("# time_unit: min\nname,Ret. Time (s),Area [uV*s]\nmethane,90,5\n", "r.csv");
    ASSERT_TRUE(table) << one_line(table.error());
    EXPECT_EQ(row(*table, "methane").retention_s, 90);
    EXPECT_EQ(row(*table, "methane").area, 5);
}

TEST(ReportTable, GivesRowsTheDetectorAboveThem) {
    auto const table =
        read_report("component,area\n# detector: 1\nmethane,5\n# detector: 2\nethane,6\n", "r.csv");
    ASSERT_TRUE(table) << one_line(table.error());
    EXPECT_EQ(row(*table, "methane").detector, 1);
    EXPECT_EQ(row(*table, "ethane").detector, 2);
    auto const column = read_report("component,detector,area\nmethane,2,5\n", "r.csv");
    ASSERT_TRUE(column);
    EXPECT_EQ(column->rows[0].detector, 2);
}

TEST(ReportTable, KeepsThePrintedTotalUnlessTheTableIsNormalised) {
    auto const raw =
        read_report("component,mole_percent\nmethane,90\nethane,9\nSum,99.0\n", "r.csv");
    ASSERT_TRUE(raw);
    EXPECT_EQ(raw->unnormalised_total, 99.0);
    auto const made = read_report(
        "# normalised: yes\ncomponent,mole_percent\nmethane,91\nethane,9\nSum,100\n", "r.csv");
    ASSERT_TRUE(made);
    EXPECT_FALSE(made->unnormalised_total);
    auto const short_of_a_row =
        read_report("component,mole_percent\nmethane,90\nethane,9\nSum,100\n", "r.csv");
    ASSERT_TRUE(short_of_a_row);
    EXPECT_EQ(short_of_a_row->warnings.size(), 1U);
}

TEST(ReportTable, TakesMinutesFromJson) {
    auto const table = read_report(
        R"({"time_unit":"min","normalised":false,"printed_cv":{"value":39.1,"unit":"MJ/m3"},
        "rows":[{"component":"methane","retention":1.5,"detector":2,"factor":10}]})",
        "r.json");
    ASSERT_TRUE(table) << one_line(table.error());
    EXPECT_EQ(table->rows[0].retention_s, 90);
    EXPECT_EQ(table->rows[0].detector, 2);
    EXPECT_EQ(table->normalised, false);
    EXPECT_EQ(table->printed_cv, 39.1);
}

struct Refusal {
    char const* name;
    std::string text, where, says;
};

void PrintTo(Refusal const& refusal, std::ostream* out) { *out << refusal.name; }

std::vector<Refusal> refusals() {
    return {
        {"unknown_component",
         "component,mole_percent\nmethane,90\nunobtainium,10\n",
         "r.csv:3",
         "unobtainium"},
        {"doubled_component", "component,mole_percent\nmethane,90\nC1,10\n", "r.csv:3", "methane"},
        {"text_for_a_number", "component,mole_percent\nmethane,much\n", "r.csv:2", "much"},
        {"not_a_number", "component,area\nmethane,nan\n", "r.csv:2", "nan"},
        {"negative_amount", "component,mole_percent\nmethane,-1\n", "r.csv:2", "-1"},
        {"negative_retention", "component,retention\nmethane,-1\n", "r.csv:2", "-1"},
        {"negative_factor", "component,factor\nmethane,-1\n", "r.csv:2", "-1"},
        {"components_only", "component,area\nmethane,\n", "r.csv", "no figures"},
        {"total_too_low", "component,mole_percent\nmethane,80\nethane,9\n", "r.csv", "89"},
        {"total_too_high", "component,mole_percent\nmethane,95\nethane,20\n", "r.csv", "115"},
        {"unknown_factor_kind",
         "# factor_kind: magic\ncomponent,factor\nmethane,1\n",
         "r.csv:1",
         "magic"},
        {"bad_time_unit",
         "# time_unit: fortnight\ncomponent,retention\nmethane,1\n",
         "r.csv:1",
         "fortnight"},
        {"no_titles_two_figures", "methane,90,5\nethane,10,6\n", "r.csv:1", "no titles"},
        {"mixed_decimals",
         "component;area;mole_percent\nmethane;1.234;90,5\n",
         "r.csv:2",
         "both points and commas"},
        {"comma_for_both", "component,mole_percent\nmethane,90,5\n", "r.csv:2", "3 columns"},
        {"doubled_column", "component,area,peak area\nmethane,1,2\n", "r.csv:1", "peak area"},
        {"no_rows", "component,area\n", "r.csv", "no rows"},
        {"empty", "", "r.csv", "empty"},
        {"no_table", "some words\n", "r.csv", "titles"},
        {"json_text_for_number",
         R"([{"component":"methane","area":"x"}])",
         "r.csv:[0].area",
         "number"},
        {"json_unknown_component",
         R"({"rows":[{"component":"foo","area":1}]})",
         "r.csv:rows[0].component",
         "foo"},
        {"json_wrong_schema",
         R"({"schema":"gaswright.proof/1","rows":[]})",
         "r.csv:schema",
         "gaswright.proof/1"},
        {"json_no_rows", "{}", "r.csv", "rows"},
    };
}

class ReportRefusal : public testing::TestWithParam<Refusal> {};

TEST_P(ReportRefusal, NamesThePlaceAndTheReason) {
    auto const& refusal = GetParam();
    auto const table = read_report(refusal.text, "r.csv");
    ASSERT_FALSE(table);
    EXPECT_EQ(table.error().where, refusal.where) << one_line(table.error());
    EXPECT_NE(table.error().what.find(refusal.says), std::string::npos) << one_line(table.error());
    EXPECT_EQ(exit_code(table.error().code), 2);
}

INSTANTIATE_TEST_SUITE_P(Every, ReportRefusal, testing::ValuesIn(refusals()), [](auto const& each) {
    return std::string(each.param.name);
});

}  // namespace
}  // namespace gw::trace
