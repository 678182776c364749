#include "bench/condensation.hpp"

#include <algorithm>
#include <cmath>

#include "gas/phase_envelope.hpp"
#include "gas/water_dew_point.hpp"

namespace gw::bench {

namespace {

Result<std::optional<gas::PhasePoint>> by(gas::Composition const& gas,
                                          gas::CubicEquation equation,
                                          double p,
                                          std::vector<std::string>& warnings) {
    GW_TRY(auto const cubic, gas::cubic_gas(gas, equation));
    for (auto const& w : cubic.warnings)
        if (std::find(warnings.begin(), warnings.end(), w) == warnings.end()) warnings.push_back(w);
    GW_TRY(auto const envelope, gas::phase_envelope(cubic.mixture, cubic.z));
    return envelope.highest_dew_point(p);
}

}  // namespace

Result<std::optional<DewPoint>> highest_dew_point(gas::Composition const& gas,
                                                  double p,
                                                  std::vector<std::string>& warnings) {
    if (!(p > 0)) return fail(Errc::out_of_range, "The pressure must be above zero.", "pressure");
    GW_TRY(auto const pr, by(gas, gas::CubicEquation::peng_robinson, p, warnings));
    GW_TRY(auto const srk, by(gas, gas::CubicEquation::soave_redlich_kwong, p, warnings));
    if (!pr && !srk) return std::optional<DewPoint>{};
    auto const& one = pr ? *pr : *srk;
    double const other = srk ? srk->T : one.T;
    return std::optional<DewPoint>(
        DewPoint{{std::max(one.T, other), std::max(0.5 * std::abs(one.T - other), 1.0)},
                 one.T >= other ? one.p : srk->p});
}

Result<Storage> least_storage_temperature(StorageInputs const& in) {
    Storage out;
    GW_TRY(out.dew, highest_dew_point(in.gas, in.pressure.value, out.warnings));
    if (!out.dew) return out;
    out.least = Measured{out.dew->T.value + in.margin_K, out.dew->T.u};
    if (in.coldest) out.margin = Measured{*in.coldest - out.dew->T.value, out.dew->T.u};
    return out;
}

Result<LineMargin> line_margin(LineInputs const& in) {
    LineMargin out;
    if (!(in.temperature.value > 0))
        return fail(Errc::out_of_range, "The temperature must be above zero.", "temperature");
    GW_TRY(out.dew, highest_dew_point(in.gas, in.pressure.value, out.warnings));
    if (out.dew)
        out.margin = Measured{in.temperature.value - out.dew->T.value,
                              std::hypot(in.temperature.u, out.dew->T.u)};
    if (in.water > 0) {
        GW_TRY(auto const wet, gas::water_dew_point(in.water, pascal(in.pressure.value)));
        out.water_dew_K = wet.T.si;
        out.water_margin_K = in.temperature.value - wet.T.si;
    }
    return out;
}

}  // namespace gw::bench
