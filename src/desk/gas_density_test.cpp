#include "desk/gas_density.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "desk/gas_compare.hpp"

namespace gw::desk {
namespace {

class OwnFile {
  public:
    explicit OwnFile(std::string const& text)
        : path_(testing::TempDir() + "gas_density_" + std::to_string(::getpid()) + ".json") {
        EXPECT_TRUE(write_file(path_, text));
    }
    OwnFile(OwnFile const&) = delete;
    OwnFile& operator=(OwnFile const&) = delete;
    ~OwnFile() { std::remove(path_.c_str()); }
    [[nodiscard]] std::string const& path() const { return path_; }

  private:
    std::string path_;
};

char const* const binary = R"({"unit":"mol/mol","components":{"methane":0.95,"n-butane":0.05}})";

TEST(GasDensityUseCase, GivesTheContractsFiguresForOnePhase) {
    OwnFile const file(binary);
    for (auto const equation : {gas::WideRangeEquation::gerg2008, gas::WideRangeEquation::detail}) {
        auto const got = gas_density(
            file.path(),
            {.equation = equation, .temperature = celsius(25), .pressure = kilopascal(2000)});
        ASSERT_TRUE(got) << one_line(got.error());
        auto const json = gas_density_json(*got);
        EXPECT_EQ(json["eos"], gas::name(equation));
        EXPECT_EQ(json["temperature_k"], 298.15);
        EXPECT_EQ(json["range"], "normal");
        EXPECT_EQ(json["phase"], "one");
        EXPECT_TRUE(json["warnings"].empty()) << json["warnings"].dump();
        EXPECT_NEAR(json["density"].get<double>(),
                    json["molar_density"].get<double>() * json["molar_mass"].get<double>(),
                    1e-12);
        EXPECT_NE(gas_density_text(*got).find("speed of sound"), std::string::npos);
    }
}

TEST(GasDensityUseCase, WarnsOfAStateThatIsSplitAndCanBeToldNotToLook) {
    OwnFile const file(binary);
    GasDensityOptions cold{.temperature = celsius(-60), .pressure = kilopascal(2000)};
    auto const split = gas_density(file.path(), cold);
    ASSERT_TRUE(split) << one_line(split.error());
    EXPECT_EQ(split->phase, Phase::split);
    ASSERT_EQ(split->warnings.size(), 1U);
    EXPECT_NE(split->warnings[0].find("gas and liquid"), std::string::npos);
    cold.check_phase = false;
    auto const unchecked = gas_density(file.path(), cold);
    ASSERT_TRUE(unchecked);
    EXPECT_TRUE(unchecked->warnings.empty());
    EXPECT_EQ(gas_density_json(*unchecked)["phase"], "not checked");
}

TEST(GasDensityUseCase, SaysWhatRangeTheStateIsIn) {
    OwnFile const file(binary);
    auto const hot =
        gas_density(file.path(), {.temperature = celsius(500), .pressure = kilopascal(100)});
    ASSERT_TRUE(hot);
    EXPECT_EQ(gas_density_json(*hot)["range"], "outside");
    EXPECT_EQ(hot->warnings.size(), 1U);
}

TEST(GasCompareUseCase, PutsEveryBaseBesideTheFirst) {
    OwnFile const file(
        R"({"unit":"mol/mol","components":{"methane":1},"standard_uncertainty":{"methane":0}})");
    auto const got = gas_compare(file.path(), false);
    ASSERT_TRUE(got) << one_line(got.error());
    ASSERT_EQ(got->rows.size(), 16U);
    EXPECT_EQ(got->rows[0].percent_off, 0.0);
    EXPECT_NEAR(
        got->rows[0].gross_cv_volume.value, 37.78, 0.01);  // methane at 15/15: ISO 6976:2016
    auto const& us = got->rows[10];                        // 14.696 psia, dry
    EXPECT_NEAR(us.gross_cv_volume.value, 1012.0, 0.1);    // GPA 2145-16: 1010.0 over Z
    auto const& iso_60 = got->rows[7];
    EXPECT_NEAR(us.cv_mj_per_m3 / iso_60.cv_mj_per_m3, 1.0, 2e-4)
        << "the same conditions in other units";
    EXPECT_EQ(gas_comparison_json(*got)["rows"].size(), 16U);
}

}  // namespace
}  // namespace gw::desk
