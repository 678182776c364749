#include "desk/sum_page.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "desk/bench_sum.hpp"
#include "desk/misstatement.hpp"

namespace gw::desk {
namespace {

TEST(SumPage, ListsEverySumWithItsFormulaAndItsSource) {
    auto const list = sums_json();
    EXPECT_EQ(list["sums"].size(), bench::sum_kinds().size() + 1);
    for (auto const& sum : list["sums"]) {
        EXPECT_FALSE(sum["formula"].get<std::string>().empty()) << sum["name"];
        EXPECT_FALSE(sum["source"].get<std::string>().empty()) << sum["name"];
        EXPECT_NE(find_page_sum(sum["name"].get<std::string>()), nullptr);
        for (auto const& field : sum["fields"]) {
            bool known = field["form"] != "quantity";
            for (auto const& unit : list["units"])
                known = known ||
                        (unit["dimension"] == field["dimension"] && unit["name"] == field["unit"]);
            EXPECT_TRUE(known) << sum["name"] << " " << field["key"];
        }
    }
}

TEST(SumPage, SaysWhatTheCommandSays) {
    auto const here = page_sum("leak",
                               Json::parse(R"({"volume": {"value": 50, "u": 0.5, "unit": "mL"},
        "p1": {"value": 4, "unit": "barg"}, "p2": "3.99 barg", "t1": 21, "t2": 20.8, "time": 30,
        "ambient": 101.3})"),
                               Json{{"leak_rate", "Pa m3/s"}});
    ASSERT_TRUE(here) << here.error().what;
    auto const there = bench_sum({"leak",
                                  {},
                                  {{"volume", "50 +- 0.5 mL"},
                                   {"p1", "4 barg"},
                                   {"p2", "3.99 barg"},
                                   {"t1", "21 degC"},
                                   {"t2", "20.8 degC"},
                                   {"time", "30 min"},
                                   {"ambient", "101.3 kPa"}},
                                  {"leak_rate=Pa m3/s"}});
    ASSERT_TRUE(there) << there.error().what;
    EXPECT_EQ((*here)["results"], there->json["results"]);
    EXPECT_EQ((*here)["results"]["leak_rate"]["unit"], "Pa m3/s");
}

TEST(SumPage, TheCostOfAnErrorIsThatOfTheCommand) {
    auto const here =
        page_sum("misstatement",
                 Json::parse(R"({"flow": 1200000, "cv": 39.5, "error": {"value": -0.35, "u": 0.05},
        "last_good": 46, "cap": 16, "price": 30})"),
                 nullptr);
    ASSERT_TRUE(here) << here.error().what;
    MisstatementRequest request;
    request.flow_m3_per_day = 1200000, request.cv_mj_m3 = 39.5;
    request.error_percent = -0.35, request.error_u_percent = 0.05;
    request.last_good = "0", request.found = "46", request.cap_days = 16;
    request.price_per_mwh = 30;
    auto const there = misstatement(request);
    ASSERT_TRUE(there) << there.error().what;
    auto const& results = (*here)["results"];
    EXPECT_NEAR(results["misstatement"]["value"].get<double>(), there->result.mwh.value, 1e-6);
    EXPECT_NEAR(results["misstatement"]["u"].get<double>(), there->result.mwh.u, 1e-6);
    EXPECT_NEAR(results["money"]["value"].get<double>(), there->result.money->value, 1e-5);
    EXPECT_NEAR(results["time"]["value"].get<double>(), 16, 1e-9);
}

TEST(SumPage, PointsAtTheFieldThatIsWrong) {
    auto const where = [](char const* sum, char const* inputs) {
        auto const out = page_sum(sum, Json::parse(inputs), nullptr);
        return out ? std::string("taken") : out.error().where;
    };
    EXPECT_NE(
        where("leak", R"({"volume": "50 furlongs", "p1": 4, "p2": 4, "time": 30})").find("volume"),
        std::string::npos);
    EXPECT_NE(where("leak", R"({"p1": 400, "p2": 399, "time": 30})").find("volume"),
              std::string::npos);
    EXPECT_EQ(where("leak", R"({"nonsense": 1})"), "nonsense");
    EXPECT_EQ(where("misstatement", R"({"flow": 1, "cv": 39, "error": 1})"), "known");
    EXPECT_EQ(where("none", "{}"), "none");
    EXPECT_EQ(where("leak", "[]"), "inputs");
}

TEST(SumPage, ReadsNoFile) {
    auto const out = page_sum(
        "purge", Json::parse(R"({"gas": "/etc/passwd", "volume": 1, "flow": 1})"), nullptr);
    ASSERT_FALSE(out);
    EXPECT_EQ(out.error().what.find("root"), std::string::npos);
}

TEST(SumPage, IsKeptAsAFileThatTheCommandTakes) {
    auto const inputs =
        Json::parse(R"({"volume": 50, "p1": 400, "p2": 399, "t1": 20, "t2": 20, "time": 30})");
    auto const kept = kept_sum("leak", inputs, nullptr);
    ASSERT_TRUE(kept) << kept.error().what;
    EXPECT_NE(kept->says.find("leak rate"), std::string::npos);
    auto const path = testing::TempDir() + "/gw_kept_sum.json";
    std::ofstream(path) << kept->file;
    auto const again = bench_sum({"leak", path, {}, {}});
    ASSERT_TRUE(again) << again.error().what;
    EXPECT_EQ(again->json["results"], (*page_sum("leak", inputs, nullptr))["results"]);
    EXPECT_FALSE(kept_sum("leak", Json::object(), nullptr));
}

}  // namespace
}  // namespace gw::desk
