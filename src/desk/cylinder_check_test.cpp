#include "desk/cylinder_check.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "desk/load.hpp"

namespace gw::desk {
namespace {

class CheckCylinder : public testing::Test {
  protected:
    void SetUp() override {
        auto const* test = testing::UnitTest::GetInstance()->current_test_info();
        folder_ = std::filesystem::path(testing::TempDir()) /
                  (std::string("gw_cylinder_") + test->name());
        std::filesystem::create_directories(folder_);
    }
    void TearDown() override { std::filesystem::remove_all(folder_); }
    [[nodiscard]] std::string put(std::string const& name, std::string const& text) const {
        auto path = (folder_ / name).string();
        EXPECT_TRUE(write_file(path, text));
        return path;
    }
    std::filesystem::path folder_;
    std::string const text_ = R"({"serial": "A1", "role": "calibration", "expires": "2027-01-01",
        "certificate": {"unit": "mol%", "components": {"methane": {"value": 90.0, "expanded_uncertainty": 0.02},
        "ethane": {"value": 10.0, "expanded_uncertainty": 0.01}}}, "pressure_kpa": 2000, "minimum_pressure_kpa": 700})";
};

TEST_F(CheckCylinder, HashesWhatItRead) {
    auto const path = put("a.json", text_);
    auto const report = check_cylinder({path, "custody", *parse_date("2026-06-01", ""), {}});
    ASSERT_TRUE(report) << one_line(report.error());
    EXPECT_EQ(report->check.verdict, metrology::Verdict::meets);
    for (auto const& f : report->check.findings)
        EXPECT_EQ(f.inputs, std::vector<std::string>{sha256(text_)});
}

TEST_F(CheckCylinder, FindsCriteriaByNameAndByFile) {
    EXPECT_EQ(load_criteria("oiml-a")->name, "oiml-a");
    auto const cylinder = put("a.json", text_);
    auto const own =
        put("site.json", R"({"cv_bias": {"low": -1, "high": 1, "unit": "%", "source": "site"}})");
    EXPECT_EQ(load_criteria(own)->find("cv_bias")->high, 1);
    EXPECT_TRUE(load_criteria("site.json", cylinder)) << "beside the file that names it";
    auto const misspelt = load_criteria("custodi");
    ASSERT_FALSE(misspelt);
    EXPECT_EQ(misspelt.error().where, "--for");
    EXPECT_NE(misspelt.error().mend.find("custody"), std::string::npos);
    EXPECT_EQ(exit_code(misspelt.error().code), 2);
    EXPECT_EQ(exit_code(load_criteria("./none.json").error().code), 3);
}

TEST_F(CheckCylinder, NamesTheFileOfAnError) {
    auto const broken = put("b.json", R"({"serial": "A1"})");
    auto const report = check_cylinder({broken, "custody", {}, {}});
    ASSERT_FALSE(report);
    EXPECT_EQ(report.error().where, broken);
    EXPECT_EQ(
        exit_code(
            check_cylinder({(folder_ / "none.json").string(), "custody", {}, {}}).error().code),
        3);
}

}  // namespace
}  // namespace gw::desk
