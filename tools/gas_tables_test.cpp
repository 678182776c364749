#include "tools/gas_tables.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <functional>
#include <stdexcept>

namespace {

using Json = nlohmann::ordered_json;

Json table(char const* name) {
    std::ifstream in(std::string(GW_SOURCE_DIR) + "/data/gas/" + name);
    return Json::parse(in);
}

// What the generator says of the shipped tables after one change.
std::string complaint(std::function<void(Json& properties, Json& names)> const& change) {
    auto properties = table("iso6976_2016.json");
    auto names = table("component_names.json");
    change(properties, names);
    try {
        gas_tables_header(properties, names);
    } catch (std::runtime_error const& error) {
        return error.what();
    }
    return {};
}

TEST(GasTables, KeepsEveryPrintedDigit) {
    auto const header =
        gas_tables_header(table("iso6976_2016.json"), table("component_names.json"));
    EXPECT_NE(
        header.find("{\"methane\", {1, 4, 0, 0, 0, 0, 0, 0}, 16.04246, {892.92, 891.51, 891.46, "
                    "891.05, 890.58}, 0.19, {0.04886, 0.04452, 0.04437, 0.04317}, 0.0005}"),
        std::string::npos);
    EXPECT_NE(header.find("molar_gas_constant = {8.3144621, 0.0000075}"), std::string::npos);
}

TEST(GasTables, AcceptsTheShippedTables) {
    EXPECT_EQ(complaint([](Json&, Json&) {}), "");
}

TEST(GasTables, RefusesATableThatCannotBeRight) {
    using Change = std::function<void(Json&, Json&)>;
    std::vector<std::pair<Change, std::string>> const mistakes = {
        {[](Json& p, Json&) { p["components"][0]["molar_mass"] = "16.04264"; },
         "contradicts its atoms"},
        {[](Json& p, Json&) { p["components"][1]["s"][2] = "0,0916"; }, "is not a number"},
        {[](Json& p, Json&) { p["components"][1]["s"][2] = 0.0916; }, "written as text"},
        {[](Json& p, Json&) { p["components"][2]["gross_cv"].erase(4); }, "5 values"},
        {[](Json& p, Json&) { p["components"][2]["u_s"] = "-0.1"; }, "u is negative"},
        {[](Json& p, Json&) { p["components"][3]["atoms"]["Xe"] = 1; }, "without atomic mass"},
        {[](Json& p, Json&) { p["constants"].erase(0); }, "constant R"},
        {[](Json& p, Json&) { p["components"][41]["gross_cv"][1] = "44.432"; }, "is not L0(15)"},
        {[](Json& p, Json&) { p["metering_c"][3] = "25"; }, "temperatures"},
        {[](Json&, Json& n) { n["names"][1]["also"].push_back("c-1"); }, "stands twice"},
        {[](Json&, Json& n) { std::swap(n["names"][3], n["names"][4]); }, "order"},
        {[](Json&, Json& n) { n["names"].erase(60); }, "one row for each"},
    };
    for (auto const& [change, words] : mistakes) {
        auto const said = complaint(change);
        EXPECT_NE(said.find(words), std::string::npos) << "wanted: " << words << "; said: " << said;
    }
}

}  // namespace
