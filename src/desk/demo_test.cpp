#include "desk/demo.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "base/file.hpp"
#include "desk/prove.hpp"

namespace gw::desk {
namespace {

metrology::Finding const* find(visit::Proof const& p, std::string_view id) {
    for (auto const& f : p.findings)
        if (f.id == id) return &f;
    return nullptr;
}

TEST(Demonstration, TellsTheStoryItWasMadeFor) {
    auto const told = demo();
    ASSERT_TRUE(told) << told.error().what;
    EXPECT_EQ(find(told->as_found, "cv_self_check")->verdict, metrology::Verdict::meets)
        << "it passes its own check";
    auto const* found = find(told->as_found, "cv_bias");
    EXPECT_EQ(found->verdict, metrology::Verdict::fails);
    EXPECT_GT(std::abs(*found->value), 0.2) << "a few tenths of a percent";
    EXPECT_LT(std::abs(*found->value), 0.8);
    EXPECT_FALSE(told->look.suspects.empty());
    EXPECT_EQ(told->as_left.verdict, metrology::Verdict::meets);
    EXPECT_EQ(find(told->as_left, "cv_bias")->verdict, metrology::Verdict::meets);
    EXPECT_NE(demo_text(*told).find("invented"), std::string::npos);
}

TEST(Demonstration, WritesFilesThatTheCommandsReadToTheSameVerdicts) {
    auto const told = demo();
    ASSERT_TRUE(told);
    auto const folder = (std::filesystem::temp_directory_path() / "gw_demo_test").string();
    std::filesystem::remove_all(folder);
    auto const written = write_demo(*told, folder);
    ASSERT_TRUE(written) << written.error().what;
    for (auto const* state : {"as_found", "as_left"}) {
        auto const proof = prove(folder + "/proof_" + state + ".json", told->scenario.date);
        ASSERT_TRUE(proof) << proof.error().where << " " << proof.error().what;
        auto const& own = std::string_view(state) == "as_found" ? told->as_found : told->as_left;
        EXPECT_EQ(proof->verdict, own.verdict);
        EXPECT_NEAR(*find(*proof, "cv_bias")->value, *find(own, "cv_bias")->value, 1e-6);
    }
    std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace gw::desk
