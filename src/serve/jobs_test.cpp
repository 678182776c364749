#include "serve/jobs.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <future>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace gw::serve {
namespace {

Json ended(Jobs const& jobs, std::string const& id) {
    for (int i = 0; i < 1000; ++i) {
        auto const job = jobs.look(id);
        if (job && ((*job)["state"] == "done" || (*job)["state"] == "failed" ||
                    (*job)["state"] == "stopped"))
            return *job;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return nullptr;
}

TEST(JobsTest, GivesWhatTheWorkGave) {
    Jobs jobs(std::make_shared<EventHub>());
    auto const id = jobs.start("sum", [](auto const& report) -> Result<Json> {
        report(2, "more than all");
        return Json(7);
    });
    auto const job = ended(jobs, id);
    EXPECT_EQ(job["result"], 7);
    EXPECT_EQ(job["share"], 1.0);
    EXPECT_TRUE(job["problem"].is_null());
    EXPECT_FALSE(jobs.look("x"));
}

TEST(JobsTest, SurvivesWorkThatFailsOrFalls) {
    Jobs jobs(std::make_shared<EventHub>());
    auto const bad = jobs.start("bad", [](auto const&) -> Result<Json> {
        return fail(Errc::bad_input, "No.", "here", "do better");
    });
    auto const fallen =
        jobs.start("fallen", [](auto const&) -> Result<Json> { throw std::runtime_error("off"); });
    EXPECT_EQ(ended(jobs, bad)["problem"]["mend"], "do better");
    EXPECT_EQ(ended(jobs, fallen)["state"], "failed");
}

TEST(JobsTest, StopsWhatNobodyWantsAnyMore) {
    Jobs jobs(std::make_shared<EventHub>());
    std::promise<void> begun;
    auto const running = jobs.start("endless", [&](Jobs::Report const& report) -> Result<Json> {
        begun.set_value();
        while (report(0.1, "on and on")) std::this_thread::sleep_for(std::chrono::milliseconds(1));
        return fail(Errc::conflict, "Given up.");
    });
    std::atomic<bool> ran = false;
    auto const waiting = jobs.start("next", [&](auto const&) -> Result<Json> {
        ran = true;
        return Json(1);
    });
    begun.get_future().wait();
    EXPECT_TRUE(jobs.stop(waiting));
    EXPECT_EQ((*jobs.look(waiting))["state"], "stopped") << "taken out of the row at once";
    EXPECT_TRUE(jobs.stop(running));
    auto const job = ended(jobs, running);
    EXPECT_EQ(job["state"], "stopped");
    EXPECT_TRUE(job["problem"].is_null()) << "nobody is told of a fault that was asked for";
    EXPECT_FALSE(jobs.stop(running)) << "it has ended";
    EXPECT_FALSE(jobs.stop("none"));
    auto const after = jobs.start("after", [](auto const&) -> Result<Json> { return Json(2); });
    EXPECT_EQ(ended(jobs, after)["result"], 2) << "the row goes on";
    EXPECT_FALSE(ran);
}

TEST(JobsTest, TellsTheWorkToGiveUpAtTheEnd) {
    std::atomic<bool> gave_up = false;
    std::promise<void> begun;
    {
        Jobs jobs(std::make_shared<EventHub>());
        jobs.start("endless", [&](Jobs::Report const& report) -> Result<Json> {
            begun.set_value();
            while (report(0.1, "on and on"))
                std::this_thread::sleep_for(std::chrono::milliseconds(1));
            gave_up = true;
            return Json(nullptr);
        });
        begun.get_future().wait();
    }
    EXPECT_TRUE(gave_up);
}

}  // namespace
}  // namespace gw::serve
