// Pictures of evidence, pressures and fits of the invented visit: every reply against its
// description, and against the findings that are made of the same.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/time.hpp"
#include "desk/examples.hpp"
#include "serve/api_fixture.hpp"

namespace gw::serve {
namespace {

class PicturesApi : public ApiFixture {
  protected:
    std::string visit;

    Json data(Response const& reply, std::string const& path, std::string const& method = "get") {
        EXPECT_EQ(reply.status, 200) << path << " " << reply.body.substr(0, 300);
        EXPECT_TRUE(agrees.document()["paths"].contains(path)) << path;
        auto body = held(reply, path, method);
        return body.contains("data") ? body["data"] : Json();
    }
    /// Stages of the invented visit, in order, up to and with the one named.
    void play(std::string const& last) {
        if (visit.empty())
            visit = Json::parse(post("/api/v1/demo", Json::object()).body)["data"]["visit"];
        auto const shown = Json::parse(get("/api/v1/visits/" + visit).body)["data"];
        for (auto const& stage : shown["stages"]) {
            auto const name = stage["name"].get<std::string>();
            auto const reply = post("/api/v1/visits/" + visit + "/demo", {{"stage", name}});
            EXPECT_TRUE(reply.status == 200 || reply.status == 404) << reply.body.substr(0, 200);
            if (name == last) return;
        }
    }
    Json factors() {
        return data(get("/api/v1/visits/" + visit + "/factors"), "/api/v1/visits/{id}/factors");
    }
    Json settling() {
        return data(get("/api/v1/visits/" + visit + "/settling"), "/api/v1/visits/{id}/settling");
    }
    Json findings() {
        return data(get("/api/v1/visits/" + visit + "/judged"),
                    "/api/v1/visits/{id}/judged")["findings"];
    }
};

Json only(Json const& list, std::function<bool(Json const&)> const& which) {
    for (auto const& each : list)
        if (which(each)) return each;
    return nullptr;
}

TEST_F(PicturesApi, FactorsAreWhatTheFindingsAreMadeOf) {
    play("as found");
    EXPECT_TRUE(settling()["sources"].empty()) << "nothing settles yet";
    auto const found = factors();
    ASSERT_EQ(found["pictures"].size(), 1U);
    EXPECT_EQ(found["pictures"][0]["basis"], "as_found");
    play("prove");
    auto const made = factors();
    auto const all = findings();
    ASSERT_EQ(made["pictures"].size(), 2U);
    for (auto const& picture : made["pictures"]) {
        auto const basis = picture["basis"];
        auto const pattern = only(
            all, [&](Json const& f) { return f["id"] == "factor_pattern" && f["basis"] == basis; });
        auto const published =
            only(picture["sets"], [](Json const& set) { return set["id"] == "published"; });
        ASSERT_FALSE(published.is_null());
        double largest = 0;
        for (auto const& mark : published["marks"]) {
            double const ln = std::log1p(mark["finding"]["value"].get<double>() / 100);
            if (std::abs(ln) > std::abs(largest)) largest = ln;
        }
        EXPECT_NEAR(100 * std::expm1(largest), pattern["value"].get<double>(), 1e-9);
        auto const order = only(
            all, [&](Json const& f) { return f["id"] == "factor_order" && f["basis"] == basis; });
        EXPECT_EQ(picture["pairs"].size(), order["value"].get<std::size_t>());
    }
    auto const left = only(made["pictures"], [](Json const& p) { return p["basis"] == "as_left"; });
    auto const shift = only(left["sets"], [](Json const& set) { return set["id"] == "shift"; });
    ASSERT_FALSE(shift.is_null());
    for (auto const& mark : shift["marks"]) {
        auto const id = "factor_shift:" + mark["component"].get<std::string>();
        auto const finding =
            only(all, [&](Json const& f) { return f["id"] == id && f["basis"] == "as_left"; });
        EXPECT_EQ(mark["finding"]["value"], finding["value"]) << id;
        EXPECT_EQ(mark["finding"]["verdict"], finding["verdict"]) << id;
    }
    EXPECT_EQ(get("/api/v1/visits/none/factors").status, 404);
}

TEST_F(PicturesApi, SettlingIsShownFromTheSeriesAndFromRuns) {
    play("settle");
    auto const early = settling();
    ASSERT_EQ(early["sources"].size(), 1U);
    auto const series = early["sources"][0];
    EXPECT_EQ(series["id"], "series");
    EXPECT_TRUE(series["decides"].get<bool>());
    auto const finding = only(findings(), [](Json const& f) { return f["id"] == "settled"; });
    EXPECT_EQ(series["settled"], finding["verdict"] == "meets");
    auto const oven =
        only(series["quantities"], [](Json const& q) { return q["name"] == "oven_c"; });
    ASSERT_FALSE(oven.is_null());
    EXPECT_EQ(oven["unit"], "degC");
    EXPECT_EQ(oven["values"].size(), oven["at_s"].size());
    ASSERT_FALSE(oven["curve"].empty());
    // The curve runs through the readings: at the last of them it is where they are.
    double const last = oven["at_s"].back();
    double nearest = 1e9, y = 0;
    for (auto const& p : oven["curve"]) {
        EXPECT_LE(p["low"], p["y"]);
        EXPECT_GE(p["high"], p["y"]);
        if (std::abs(p["t_s"].get<double>() - last) < nearest) {
            nearest = std::abs(p["t_s"].get<double>() - last);
            y = p["y"];
        }
    }
    EXPECT_NEAR(y, oven["values"].back().get<double>(), 0.5);
    play("hand back");
    auto const late = settling();
    auto const every = only(late["sources"], [](Json const& s) { return s["id"] == "runs"; });
    ASSERT_FALSE(every.is_null());
    auto const methane =
        only(every["quantities"], [](Json const& q) { return q["name"] == "retention:methane"; });
    EXPECT_GE(methane["values"].size(), 8U) << "enough to be fitted";
    EXPECT_NE(methane["motion"], "too few readings");
    for (auto const* id : {"calibration", "proving"}) {
        auto const source = only(late["sources"], [&](Json const& s) { return s["id"] == id; });
        ASSERT_FALSE(source.is_null()) << id;
        EXPECT_FALSE(source["decides"].get<bool>());
        auto const retention = only(source["quantities"],
                                    [](Json const& q) { return q["name"] == "retention:methane"; });
        EXPECT_GE(retention["values"].size(), 2U);
        bool const factors = std::any_of(
            source["quantities"].begin(), source["quantities"].end(), [](Json const& q) {
                return q["name"].get<std::string>().starts_with("factor:");
            });
        EXPECT_EQ(factors, std::string(id) == "calibration")
            << "certified amounts of that gas only";
    }
}

TEST_F(PicturesApi, TakesAPressureBesideTheCertificate) {
    play("prepare");
    auto const path = "/api/v1/visits/" + visit + "/pressure";
    Json body{{"stage", "prepare"},
              {"step", "calibration certificate"},
              {"value", 38.5},
              {"unit", "bar gauge"},
              {"ambient", 992},
              {"ambient_unit", "mbar"}};
    auto const done = data(post(path, body), "/api/v1/visits/{id}/pressure", "post");
    EXPECT_GT(done["recorded"]["entry"], 0);
    auto const pressure = only(findings(), [](Json const& f) {
        return f["id"] == "pressure" && f["gas"] == "calibration";
    });
    EXPECT_NEAR(pressure["value"].get<double>(), 3850 + 99.2, 1e-9);
    for (auto const& wrong : {Json{{"unit", "furlong"}},
                              Json{{"value", "full"}},
                              Json{{"ambient", nullptr}},
                              Json{{"step", "gas test"}},
                              Json{{"fancy", 1}}}) {
        auto broken = body;
        broken.update(wrong);
        if (wrong.contains("ambient")) broken.erase("ambient");
        auto const reply = post(path, broken);
        held(reply, "/api/v1/visits/{id}/pressure", "post");
        EXPECT_GE(reply.status, 400) << wrong;
    }
}

TEST_F(PicturesApi, TakesAPressureOfACylinder) {
    play("prepare");  // the invented record knows its cylinders
    auto const cylinders = [&] {
        return data(get("/api/v1/register?book=invented"), "/api/v1/register")["cylinders"];
    };
    auto const before = cylinders();
    ASSERT_FALSE(before.empty());
    auto const serial = before[0]["id"].get<std::string>();
    auto const done =
        data(post("/api/v1/cylinders/" + serial + "/pressure", {{"value", 30}, {"unit", "bar"}}),
             "/api/v1/cylinders/{serial}/pressure",
             "post");
    EXPECT_EQ(done["serial"], serial);
    auto const after = only(cylinders(), [&](Json const& c) { return c["id"] == serial; });
    EXPECT_EQ(after["readings"].size(), before[0]["readings"].size() + 1);
    EXPECT_EQ(post("/api/v1/cylinders/none/pressure", {{"value", 30}, {"unit", "bar"}}).status,
              404);
    EXPECT_EQ(
        post("/api/v1/cylinders/" + serial + "/pressure", {{"value", 30}, {"unit", "bar gauge"}})
            .status,
        400)
        << "a gauge needs the air";
}

TEST_F(PicturesApi, FitsTheTwinToRunsAndGivesItUp) {
    play("prove");
    auto const opened = Json::parse(post("/api/v1/twins",
                                         {{"method", *desk::example_text("method.json")},
                                          {"gas", *desk::example_text("line_gas.json")}})
                                        .body)["data"];
    auto const path = "/api/v1/twins/" + opened["id"].get<std::string>() + "/fit";
    std::vector<std::int64_t> calibration, line;
    auto const shown = Json::parse(get("/api/v1/visits/" + visit).body)["data"];
    for (auto const& stage : shown["stages"])
        for (auto const& step : stage["steps"])
            for (auto const& kept : step["evidence"])
                if (step["wants"] == "run") {
                    if (step["name"] == "calibration gas runs")
                        calibration.push_back(kept["entry"]);
                    if (step["name"] == "line gas as found") line.push_back(kept["entry"]);
                }
    ASSERT_FALSE(calibration.empty());
    ASSERT_FALSE(line.empty());
    auto const ask = [&](Json const& entries, char const* gas) {
        return post(path, {{"visit", visit}, {"entries", entries}, {"gas", gas}});
    };
    for (auto const& reply : {ask(Json::array(), "certified"),
                              ask({calibration[0], line[0]}, "unknown"),
                              ask({line[0]}, "certified"),
                              ask({1}, "unknown"),
                              ask({calibration[0]}, "helium"),
                              ask("all", "unknown")}) {
        held(reply, "/api/v1/twins/{id}/fit", "post");
        EXPECT_GE(reply.status, 400);
    }
    auto const job =
        data(ask({calibration[0]}, "certified"), "/api/v1/twins/{id}/fit", "post")["job"]
            .get<std::string>();
    auto const look = [&] { return data(get("/api/v1/jobs/" + job), "/api/v1/jobs/{id}"); };
    for (int i = 0; i < 2000 && look()["share"].get<double>() == 0 && look()["state"] != "done";
         ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    auto const stopped = data(
        post("/api/v1/jobs/" + job + "/stop", Json::object()), "/api/v1/jobs/{id}/stop", "post");
    EXPECT_EQ(stopped["id"], job);
    for (int i = 0; i < 2000 && (look()["state"] == "running" || look()["state"] == "waiting"); ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    EXPECT_EQ(look()["state"], "stopped");
    EXPECT_TRUE(look()["result"].is_null());
    EXPECT_EQ(post("/api/v1/jobs/none/stop", Json::object()).status, 404);
}

}  // namespace
}  // namespace gw::serve
