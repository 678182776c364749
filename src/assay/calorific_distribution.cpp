#include "assay/calorific_distribution.hpp"

#include <array>

namespace gw::assay {

Result<CalorificDistribution> calorific_distribution(gas::Composition const& gas,
                                                     gas::Iso6976Options const& reference,
                                                     metrology::MonteCarloOptions const& options) {
    CalorificDistribution out;
    GW_TRY(auto const full, gas::iso6976(gas, reference));
    out.linear = full.real.gross_cv_volume;
    auto bare = gas;
    bare.V = {};
    GW_TRY(auto const tables, gas::iso6976(bare, reference));
    double const u_tables = tables.real.gross_cv_volume.u;
    GW_TRY(auto const sums, gas::PropertySums::prepare(gas.components, {}, reference));
    constexpr std::size_t most = gas::component_count;
    metrology::CorrelatedNormal const law(gas.x, gas.V);
    std::size_t const n = gas.x.size();
    out.monte_carlo = metrology::monte_carlo(
        [&](RandomStream& random) {
            std::array<double, most> room{};
            std::span<double> const x(room.data(), n);
            law.draw(random, x);
            double total = 0;
            for (double const each : x) total += each;
            for (double& each : x) each /= total;
            return sums.values(x)[0] + u_tables * random.normal();
        },
        options);
    return out;
}

}  // namespace gw::assay
