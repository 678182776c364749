#include "tools/equation_tables.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <functional>
#include <map>
#include <stdexcept>

namespace {

using Json = nlohmann::ordered_json;
using Tables = std::map<std::string, Json>;

Tables shipped() {
    Tables out;
    for (char const* name : {"component_names",
                             "gpa2145_16",
                             "gerg2008",
                             "equation_components",
                             "aga8_detail",
                             "critical_constants",
                             "cubic_interaction"}) {
        std::ifstream in(std::string(GW_SOURCE_DIR) + "/data/gas/" + name + ".json");
        out[name] = Json::parse(in);
    }
    return out;
}

std::string headers(Tables& t) {
    auto const order = component_order(t["component_names"]);
    return us_header(t["gpa2145_16"], order) +
           gerg_header(t["gerg2008"], t["equation_components"], order) +
           detail_header(t["aga8_detail"], t["gerg2008"]) +
           cubic_header(t["critical_constants"], t["cubic_interaction"], order);
}

TEST(EquationTables, KeepEveryPrintedDigit) {
    auto tables = shipped();
    auto const text = headers(tables);
    EXPECT_NE(text.find("0.57335704239162, -1.676068752373"), std::string::npos);
    EXPECT_NE(text.find("-0.07931491"), std::string::npos) << "term 33 of DETAIL";
    EXPECT_NE(text.find("{true, 16.0425, 1010.0, 0.04438, 0},  // methane"), std::string::npos);
    EXPECT_NE(text.find("{true, 190.564, 4599.2, 0.01142},  // methane"), std::string::npos);
}

TEST(EquationTables, RefuseATableThatCannotBeRight) {
    using Change = std::function<void(Tables&)>;
    std::vector<std::pair<Change, std::string>> const mistakes = {
        {[](Tables& t) { t["gpa2145_16"]["components"][0]["s"] = 0.04438; }, "written as text"},
        {[](Tables& t) { t["gpa2145_16"]["components"][0]["name"] = "methan"; }, "no component"},
        {[](Tables& t) { t["gpa2145_16"]["components"][1]["name"] = "methane"; }, "stands twice"},
        {[](Tables& t) { t["gerg2008"]["components"][3]["n"].erase(5); }, "values are needed"},
        {[](Tables& t) { t["gerg2008"]["components"][3]["Tc"] = "-1"; }, "not positive"},
        {[](Tables& t) { t["gerg2008"]["binary"].erase(7); }, "every pair is needed"},
        {[](Tables& t) { t["gerg2008"]["binary"][8] = t["gerg2008"]["binary"][7]; },
         "stands twice"},
        {[](Tables& t) { t["gerg2008"]["binary"][0][6] = "0.0"; }, "contradicts"},
        {[](Tables& t) { t["gerg2008"]["binary"][0][7] = "methane+argon"; }, "no such function"},
        {[](Tables& t) { t["gerg2008"]["exponents"][0]["t"].erase(3); }, "different lengths"},
        {[](Tables& t) { t["equation_components"]["components"].erase(0); }, "nothing says"},
        {[](Tables& t) { t["equation_components"]["components"][0]["taken_as"] = "neon"; },
         "no component"},
        {[](Tables& t) { t["aga8_detail"]["terms"].erase(20); }, "out of order"},
        {[](Tables& t) {
             std::swap(t["aga8_detail"]["components"][0], t["aga8_detail"]["components"][1]);
         },
         "order"},
        {[](Tables& t) { t["cubic_interaction"]["pr"].push_back(t["cubic_interaction"]["pr"][0]); },
         "stands twice"},
        {[](Tables& t) { t["critical_constants"]["components"][0]["source"] = ""; }, "no source"},
    };
    for (auto const& [change, words] : mistakes) {
        auto tables = shipped();
        change(tables);
        std::string said;
        try {
            headers(tables);
        } catch (std::runtime_error const& error) {
            said = error.what();
        }
        EXPECT_NE(said.find(words), std::string::npos) << "wanted: " << words << "; said: " << said;
    }
}

}  // namespace
