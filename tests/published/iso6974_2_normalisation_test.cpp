// Source: ISO 6974-2, uncertainty of normalised amounts when the raw amounts are uncorrelated. The
// formula is published; the figures of this example are made with it, 16 digits, by another
// program.
#include <gtest/gtest.h>

#include <cmath>

#include "gas/gas.hpp"

namespace gw::gas {
namespace {

TEST(Iso6974Part2, NormalisationCarriesUncertaintyThroughItsJacobian) {
    Composition raw;
    for (auto const* component : {"methane", "ethane", "propane", "nitrogen"})
        raw.components.push_back(*find_component(component));
    raw.x = {0.9005, 0.0502, 0.0248, 0.0151};
    std::vector<double> const u_raw = {0.0006, 0.0001, 0.0001, 0.0001};
    raw.V = SquareMatrix::of_standard_uncertainties(u_raw);
    auto const out = normalised(raw);
    auto const u = standard_uncertainties(out.V);
    std::vector<double> const x_percent = {
        90.90450232182515, 5.067635776297193, 2.5035332121946294, 1.5243286896830204};
    std::vector<double> const u_percent = {
        0.01682219065263755, 0.01008884798212424, 0.009964703017746723, 0.009986166871882024};
    for (std::size_t i = 0; i < x_percent.size(); ++i) {
        EXPECT_NEAR(100 * out.x[i] / x_percent[i], 1.0, 1e-8) << i;
        EXPECT_NEAR(100 * u[i] / u_percent[i], 1.0, 1e-8) << i;
    }
}

}  // namespace
}  // namespace gw::gas
