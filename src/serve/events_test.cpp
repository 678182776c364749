#include "serve/events.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <vector>

namespace gw::serve {
namespace {

TEST(EventHubTest, TellsThoseWhoListenAndNobodyAfterwards) {
    auto const hub = std::make_shared<EventHub>();
    std::vector<std::string> heard;
    EXPECT_FALSE(hub->is_heard());
    auto ear = hub->listen([&](auto event) { heard.push_back(*event); });
    EXPECT_TRUE(hub->is_heard());
    hub->tell("record", Json{{"entries", 3}});
    ear.reset();
    hub->tell("record", Json{{"entries", 4}});
    ASSERT_EQ(heard.size(), 1U);
    EXPECT_EQ(heard[0], "event: record\ndata: {\"entries\":3}\n\n");
}

TEST(EventHubTest, KeepsAHostileTextOnItsLine) {
    auto const text = event_text("record", Json{{"subject", "a\n\nevent: hello"}});
    EXPECT_EQ(text.find("\n\n"), text.size() - 2) << "a blank line ends an event";
}

TEST(EventHubTest, OutlivesNobody) {
    std::shared_ptr<void> ear;
    {
        auto const hub = std::make_shared<EventHub>();
        ear = hub->listen([](auto) {});
    }
    ear.reset();  // the hub has gone: nothing to take back
}

}  // namespace
}  // namespace gw::serve
