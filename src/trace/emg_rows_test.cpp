#include "trace/emg_rows.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <vector>

#include "trace/block_kernels.hpp"

namespace gw::trace {
namespace {

struct Rows {
    std::vector<double> model, row[4];
};

Rows rows_of(Emg const& peak, std::vector<double> const& t, std::vector<double> const& weight) {
    Rows out;
    out.model.assign(t.size(), 0.25);
    for (auto& r : out.row) r.assign(t.size(), -7.0);
    add_emg_rows(peak,
                 {t.data(), weight.data(), t.size()},
                 out.model.data(),
                 {out.row[0].data(), out.row[1].data(), out.row[2].data(), out.row[3].data()});
    return out;
}

std::vector<double> times(std::size_t n, Emg const& p) {
    std::vector<double> t(n);
    for (std::size_t i = 0; i < n; ++i)
        t[i] = p.mu - 8 * p.sigma +
               (16 * p.sigma + 20 * p.tau) * static_cast<double>(i) / static_cast<double>(n);
    return t;
}

class EmgRows : public testing::TestWithParam<std::string> {
  protected:
    void SetUp() override { use_kernel_width(GetParam()); }
    void TearDown() override { use_kernel_width(""); }
};

TEST_P(EmgRows, AreThoseOfOneTimeAfterAnother) {
    for (double const tail : {0.02, 0.1, 0.35, 1.0, 3.0, 6.0})
        for (std::size_t const n : {1U, 7U, 8U, 9U, 63U, 400U}) {
            Emg const peak{3.7, 41, 0.8, tail * 0.8};
            auto const t = times(n, peak);
            std::vector<double> weight(n);
            for (std::size_t i = 0; i < n; ++i) weight[i] = 1 + 0.01 * static_cast<double>(i % 13);
            auto const got = rows_of(peak, t, weight);
            // What rounding leaves grows as the terms that cancel in the derivatives.
            double const most = peak.area / std::hypot(peak.sigma, peak.tau),
                         r = 4e-15 * most * (1 + 1 / (tail * tail * tail));
            for (std::size_t i = 0; i < n; ++i) {
                auto const want = derivatives(peak, t[i]);
                double const w = weight[i];
                ASSERT_NEAR(got.model[i] - 0.25, want.value, r) << tail << " at " << t[i];
                ASSERT_NEAR(got.row[0][i], w * want.d[0], r);
                ASSERT_NEAR(got.row[1][i], w * want.d[1], r / peak.sigma);
                ASSERT_NEAR(got.row[2][i], w * want.d[2] * peak.sigma, r);
                ASSERT_NEAR(got.row[3][i], w * want.d[3] * peak.tau, r);
            }
        }
}

TEST_P(EmgRows, AreTheSameBitsForEveryWidth) {
    Emg const peak{-2, 3, 0.4, 0.31};
    auto const t = times(203, peak);
    std::vector<double> const weight(t.size(), 0.7);
    auto const got = rows_of(peak, t, weight);
    use_kernel_width("");
    auto const widest = rows_of(peak, t, weight);
    for (std::size_t i = 0; i < t.size(); ++i) {
        ASSERT_EQ(std::bit_cast<std::uint64_t>(got.model[i]),
                  std::bit_cast<std::uint64_t>(widest.model[i]));
        for (std::size_t r = 0; r < 4; ++r)
            ASSERT_EQ(std::bit_cast<std::uint64_t>(got.row[r][i]),
                      std::bit_cast<std::uint64_t>(widest.row[r][i]));
    }
}

TEST_P(EmgRows, SumProductsInEightLanes) {
    for (std::size_t const n : {1U, 8U, 13U, 640U}) {
        std::vector<std::vector<double>> rows(6, std::vector<double>(n));
        for (std::size_t r = 0; r < rows.size(); ++r)
            for (std::size_t i = 0; i < n; ++i)
                rows[r][i] = std::sin(0.7 * static_cast<double>(i * (r + 1)) + 0.1);
        std::vector<double const*> const others{
            rows[1].data(), rows[2].data(), rows[3].data(), rows[4].data(), rows[5].data()};
        std::vector<double> got(others.size());
        row_products(rows[0].data(), others, n, got.data());
        for (std::size_t r = 0; r < others.size(); ++r) {
            std::array<double, 8> lane{};
            for (std::size_t i = 0; i < n; ++i) lane[i % 8] += rows[0][i] * others[r][i];
            double const want = ((lane[0] + lane[4]) + (lane[2] + lane[6])) +
                                ((lane[1] + lane[5]) + (lane[3] + lane[7]));
            ASSERT_EQ(std::bit_cast<std::uint64_t>(got[r]), std::bit_cast<std::uint64_t>(want))
                << n;
        }
    }
}

INSTANTIATE_TEST_SUITE_P(EveryWidth,
                         EmgRows,
                         testing::ValuesIn(kernel_widths()),
                         [](auto const& width) { return width.param; });

}  // namespace
}  // namespace gw::trace
