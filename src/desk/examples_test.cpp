#include "desk/examples.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "desk/demo.hpp"
#include "desk/history.hpp"
#include "desk/prove.hpp"
#include "desk/trace_view.hpp"
#include "desk/twin_bench.hpp"

namespace gw::desk {
namespace {

TEST(Examples, CanAllBeUsedForWhatTheyAre) {
    auto const method = *example_text("method.json");
    for (auto const& example : examples()) {
        auto const text = example_text(example.name);
        ASSERT_TRUE(text) << example.name;
        if (example.kind == "report")
            EXPECT_TRUE(look_at({*text, {}, "custody", *parse_date("2026-05-19", "on")}));
        else if (example.kind == "cylinder")
            EXPECT_TRUE(cylinder_of(*text, example.name));
        else if (example.kind == "gas")
            EXPECT_TRUE(twin_bench(method, *text));
        else if (example.kind == "trace")
            EXPECT_TRUE(trace_view(*text, example.name, {}, method));
        else if (example.kind == "series")
            EXPECT_TRUE(read_history(*text, example.name));
        else
            EXPECT_EQ(example.kind, "method");
    }
    EXPECT_EQ(example_text("../etc/passwd").error().code, Errc::not_found);
    EXPECT_EQ(example_text("scenario.json").error().code, Errc::not_found);
}

// The report is shipped as a file so that it is there at once; it is what the story prints.
TEST(Examples, TheReportIsThatOfTheDemonstration) {
    EXPECT_EQ(*example_text("printed_report.csv"), demo()->printed_report);
}

}  // namespace
}  // namespace gw::desk
