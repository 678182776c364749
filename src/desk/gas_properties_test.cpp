#include "desk/gas_properties.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <nlohmann/json.hpp>

#include "base/file.hpp"

namespace gw::desk {
namespace {

// A file of the test's own, gone when it ends.
class OwnFile {
  public:
    explicit OwnFile(std::string const& text)
        : path_(testing::TempDir() + "gas_properties_" + std::to_string(::getpid()) + ".json") {
        EXPECT_TRUE(write_file(path_, text));
    }
    OwnFile(OwnFile const&) = delete;
    OwnFile& operator=(OwnFile const&) = delete;
    ~OwnFile() { std::remove(path_.c_str()); }
    [[nodiscard]] std::string const& path() const { return path_; }

  private:
    std::string path_;
};

TEST(GasPropertiesUseCase, ReportsTotalConditionsAndBothGroups) {
    OwnFile const file(
        R"({"unit":"mol%","components":{"methane":95,"ethane":5.05},"standard_uncertainty":{"ethane":0.01}})");
    auto const got = gas_properties(file.path(), {});
    ASSERT_TRUE(got) << one_line(got.error());
    auto const json = gas_properties_json(*got);
    EXPECT_EQ(json["standard"], "iso6976");
    EXPECT_EQ(json["combustion_c"], 15);
    EXPECT_EQ(json["pressure_kpa"], 101.325);
    EXPECT_EQ(json["normalised"], false);
    EXPECT_NEAR(json["total"].get<double>(), 1.0005, 1e-12);
    EXPECT_EQ(json["ideal"].size(), 12U);
    EXPECT_EQ(json["real"].size(), 12U);
    ASSERT_EQ(json["warnings"].size(), 1U) << "a total off one is said";
    EXPECT_NE(gas_properties_text(*got).find("relative density"), std::string::npos);
}

TEST(GasPropertiesUseCase, SaysThatItNormalised) {
    OwnFile const file(R"({"unit":"mol/mol","components":{"methane":0.9}})");
    auto const refused = gas_properties(file.path(), {});
    ASSERT_FALSE(refused);
    EXPECT_EQ(exit_code(refused.error().code), 2);
    auto const got = gas_properties(file.path(), {.normalise = true});
    ASSERT_TRUE(got);
    EXPECT_NE(got->warnings.at(0).find("normalised"), std::string::npos);
    EXPECT_NEAR(std::get<gas::Iso6976>(got->values).real.gross_cv_molar.value,
                891.51,
                1e-9);  // ISO 6976:2016 Table 3
}

TEST(GasPropertiesUseCase, TakesTheUsualSplitWithAWarningAndTheFilesOwnWithout) {
    auto const text = [](char const* more) {
        return fmt::format(
            R"({{"unit":"mol/mol","components":{{"methane":0.99,"C6+":0.01}},"standard_uncertainty":{{"C6+":0}}{}}})",
            more);
    };
    OwnFile const bare(text(""));
    auto const usual = gas_properties(bare.path(), {});
    ASSERT_TRUE(usual);
    ASSERT_EQ(usual->warnings.size(), 1U);
    EXPECT_NE(usual->warnings[0].find("C6+"), std::string::npos);
    OwnFile const own(text(
        R"(,"characterisation":{"C6+":{"n-hexane":0.47466,"n-heptane":0.35340,"n-octane":0.17194}})"));
    auto const stated = gas_properties(own.path(), {});
    ASSERT_TRUE(stated);
    EXPECT_TRUE(stated->warnings.empty());
    EXPECT_DOUBLE_EQ(std::get<gas::Iso6976>(stated->values).real.density.value,
                     std::get<gas::Iso6976>(usual->values).real.density.value);
}

TEST(GasPropertiesUseCase, AnAbsentFileIsAFileFailure) {
    auto const got = gas_properties("/nowhere/gas.json", {});
    ASSERT_FALSE(got);
    EXPECT_EQ(exit_code(got.error().code), 3);
}

}  // namespace
}  // namespace gw::desk
