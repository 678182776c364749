// Flow, retention and moments of the twin against the rows of data/published/oven.json; every row
// names its source there.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/json.hpp"
#include "oven/oven_for_tests.hpp"
#include "oven/simulate.hpp"

namespace gw::oven {
namespace {

int each_row(std::string const& start, std::function<void(Json const&, Json const&)> const& check) {
    static Json const file = [] {
        auto const path = std::string(GW_SOURCE_DIR) + "/data/published/oven.json";
        return parse_json(read_file(path).value(), path).value().root().raw();
    }();
    int seen = 0;
    for (auto const& row : file.at("rows")) {
        auto const id = row.at("id").get<std::string>();
        if (id.rfind(start, 0) != 0) continue;
        SCOPED_TRACE(id);
        check(row, row.at("inputs"));
        ++seen;
    }
    return seen;
}

double number(Json const& in, char const* key) { return in.at(key).get<double>(); }

double tolerance(Json const& row, double expected) {
    return row.contains("abs_tol") ? number(row, "abs_tol")
                                   : number(row, "rel_tol") * std::abs(expected);
}

void expect_row(Json const& row, double got) {
    double const want = row.at("expected").get<double>();
    EXPECT_NEAR(got, want, tolerance(row, want));
}

TEST(PublishedOven, CompressibilityCorrection) {
    EXPECT_EQ(6, each_row("j-", [](Json const& row, Json const& in) {
                  expect_row(row, compressibility_correction(number(in, "p_in_over_p_out")));
              }));
}

TEST(PublishedOven, HeliumViscosity) {
    EXPECT_EQ(2, each_row("he-viscosity", [](Json const& row, Json const& in) {
                  expect_row(row, helium_viscosity(number(in, "T_K")) * 1e6);
              }));
}

TEST(PublishedOven, Permeability) {
    EXPECT_EQ(1, each_row("kozeny", [](Json const& row, Json const& in) {
                  expect_row(row,
                             packing_permeability(number(in, "dp_um") * 1e-6,
                                                  number(in, "interparticle_porosity")));
              }));
}

TEST(PublishedOven, RetentionAgainstTemperature) {
    EXPECT_EQ(1, each_row("vant-hoff", [](Json const& row, Json const& in) {
                  Species species;
                  species.k = {number(in, "k_353K")};
                  species.enthalpy_j_mol = {number(in, "dH_kJ_mol") * 1e3};
                  expect_row(row, retention_factor(species, 0, 353.15, number(in, "T_K")));
              }));
}

TEST(PublishedOven, HoldupsOfColumnsInSeries) {
    EXPECT_EQ(2, each_row("series-holdup", [](Json const& row, Json const& in) {
                  Oven oven;
                  oven.computed_flow = true;
                  Chain chain;
                  chain.carrier = {
                      "He", number(in, "eta_Pa_s"), number(in, "p_in_Pa"), number(in, "p_out_Pa")};
                  oven.chains = {chain};
                  ChainPath way;
                  for (auto const& id : in.at("order")) {
                      Column column;
                      column.id = id.get<std::string>();
                      column.length_m = number(in.at("L_m"), column.id.c_str());
                      column.inner_diameter_m = 1e-3;
                      column.particle_m = 163e-6;  // with 0.4: the permeability of the row
                      column.porosity = number(in, "total_porosity");
                      way.passages.push_back({oven.columns.size(), false, 1});
                      oven.columns.push_back(column);
                  }
                  Path path;
                  path.chains = {way};
                  auto const times = holdups(oven, path).at(0);
                  for (std::size_t c = 0; c < times.size(); ++c) {
                      double const want = row.at("expected").at(oven.columns[c].id).get<double>();
                      EXPECT_NEAR(times[c], want, tolerance(row, want)) << oven.columns[c].id;
                  }
              }));
}

struct Moments {
    double mean{}, variance{};
};

Moments moments(Oven const& oven) {
    auto const run = simulate(oven, {1.0});
    auto const& y = run.peaks.at(0).signal;
    double area = 0;
    Moments m;
    for (std::size_t i = 0; i < y.size(); ++i) {
        area += y[i];
        m.mean += y[i] * static_cast<double>(i) * run.interval_s;
    }
    m.mean /= area;
    for (std::size_t i = 0; i < y.size(); ++i)
        m.variance += y[i] * std::pow(static_cast<double>(i) * run.interval_s - m.mean, 2) / area;
    return m;
}

// Injection: pulse 0.25 s through a lag of 0.1 s; cell: lag of 0.1 s (oven_for_tests.hpp).
constexpr double injection_mean = 0.225, injection_variance = 0.25 * 0.25 / 12 + 0.01;
constexpr double cell_mean = 0.1, cell_variance = 0.01;

TEST(PublishedOven, VarianceOfAClosedVessel) {
    EXPECT_EQ(1, each_row("closed-vessel", [](Json const& row, Json const& in) {
                  auto const m =
                      moments(one_column(number(in, "N"), number(in, "t0"), number(in, "k"), 100));
                  double const want = row.at("expected").get<double>();
                  EXPECT_NEAR(m.variance - injection_variance - cell_variance, want, 3e-3 * want);
              }));
}

TEST(PublishedOven, MeanAndVarianceAfterReversal) {
    EXPECT_EQ(3, each_row("reversal", [](Json const& row, Json const& in) {
                  auto oven = one_column(number(in, "N"), number(in, "t0"), number(in, "k"), 60);
                  oven.programme.push_back({number(in, "t_switch"), "reverse"});
                  if (in.contains("holdup_factor_back"))
                      oven.paths[1].chains[0]->passages[0].holdup_factor =
                          number(in, "holdup_factor_back");
                  auto const m = moments(oven);
                  auto const id = row.at("id").get<std::string>();
                  if (id == "reversal-variance")
                      expect_row(row, m.variance - cell_variance);
                  else
                      expect_row(row, m.mean - cell_mean);
              }));
}

TEST(PublishedOven, VarianceAddedInStore) {
    EXPECT_EQ(1, each_row("storage-variance", [](Json const& row, Json const& in) {
                  auto still = one_column(3600, number(in, "t0"), number(in, "k"), 200);
                  still.columns[0].length_m = number(in, "L_cm") * 1e-2;
                  still.columns[0].stored_diffusion_m2_s = number(in, "D_cm2_s") * 1e-4;
                  auto stored = still;
                  stored.programme.push_back({13, "store"});
                  stored.programme.push_back({13 + number(in, "t_store"), "release"});
                  expect_row(row, moments(stored).variance - moments(still).variance);
              }));
}

}  // namespace
}  // namespace gw::oven
