#include "bench/misstatement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace gw::bench {

namespace {

constexpr double mj_per_mwh = 3600;
constexpr double day_s = 86400;

// Energy between two moments, MWh, and what of it is misstated at the error `e` (a fraction).
struct Energy {
    double indicated = 0, misstated = 0, linear = 0, per_error = 0;
};

Energy energy_of(MisstatementInputs const& in, double from, double to, double e) {
    Energy out;
    for (auto const& gas : in.gas) {
        double const a = std::max(gas.from_s, from), b = std::min(gas.to_s, to);
        if (!(b > a)) continue;
        double const all =
            gas.volume_m3 * gas.cv_mj_m3 / mj_per_mwh * (b - a) / (gas.to_s - gas.from_s);
        // A ramp within an hour is as good as its middle.
        double const grown = in.course == ErrorCourse::ramp && to > from
                                 ? (0.5 * (a + b) - from) / (to - from)
                                 : 1.0;
        double const here = e * grown;
        out.indicated += all;
        out.misstated += all * here / (1 + here);
        out.linear += all * here;
        out.per_error += all * grown / ((1 + here) * (1 + here));
    }
    return out;
}

double metered_share(MisstatementInputs const& in, double from, double to) {
    double covered = 0;
    for (auto const& gas : in.gas)
        covered += std::max(0.0, std::min(gas.to_s, to) - std::max(gas.from_s, from));
    return covered / (to - from);
}

}  // namespace

Result<Misstatement> misstatement(MisstatementInputs const& in) {
    Misstatement out;
    double const e = in.error_percent.value / 100;
    if (!(e > -0.5 && e < 1))
        return fail(Errc::out_of_range,
                    fmt::format("An error of {} % is beyond this sum.", in.error_percent.value),
                    "--error",
                    "give percent, indicated less true");
    double from = in.onset.at_s, u_onset = 0;
    switch (in.onset.rule) {
        case OnsetRule::known:
            break;
        case OnsetRule::change_point:
            if (in.onset.from_s && in.onset.to_s)
                u_onset = std::abs(*in.onset.to_s - *in.onset.from_s) / (2 * 1.96);
            else
                out.warnings.emplace_back(
                    "The change point has no interval: its uncertainty is not in u.");
            break;
        case OnsetRule::half_period: {
            double const since = in.found_s - in.onset.last_good_s;
            if (!(since > 0))
                return fail(Errc::bad_input,
                            "The last good check does not lie before the finding.",
                            "--last-good",
                            "correct one of the two");
            double half = 0.5 * since;
            if (in.onset.cap_s && half > *in.onset.cap_s) {
                half = *in.onset.cap_s;
                out.warnings.push_back(
                    fmt::format("Half the time since the last good check is {:.4g} days; the cap "
                                "of {:.4g} days holds.",
                                0.5 * since / day_s,
                                half / day_s));
            }
            from = in.found_s - half;
            u_onset = since / std::sqrt(12.0);  // anywhere since the last good check, evenly
            break;
        }
    }
    if (!(from < in.found_s))
        return fail(Errc::bad_input,
                    "The onset does not lie before the finding.",
                    "--onset",
                    "correct one of the two");
    out.from_s = from;
    out.to_s = in.found_s;
    auto const energy = energy_of(in, from, in.found_s, e);
    if (!(energy.indicated != 0))
        return fail(Errc::bad_input,
                    "No gas was metered between the onset and the finding.",
                    "volumes",
                    "give the volumes of that time");
    double const share = metered_share(in, from, in.found_s);
    if (share < 0.999)
        out.warnings.push_back(
            fmt::format("The volumes cover only {:.1f} % of the time; the rest counts as no gas.",
                        100 * share));
    out.indicated_mwh = energy.indicated;
    out.linear_mwh = energy.linear;
    out.mwh.value = energy.misstated;
    out.u_of_error_mwh = std::abs(energy.per_error) * in.error_percent.u / 100;
    if (u_onset > 0) {
        double const earlier = energy_of(in, from - u_onset, in.found_s, e).misstated;
        double const later =
            energy_of(in, std::min(from + u_onset, in.found_s), in.found_s, e).misstated;
        out.u_of_onset_mwh = 0.5 * std::abs(earlier - later);
    }
    out.u_of_volume_mwh = std::abs(energy.misstated) * in.volume_u_percent / 100;
    out.mwh.u = std::hypot(out.u_of_error_mwh, out.u_of_onset_mwh, out.u_of_volume_mwh);

    auto const money = [&](Measured mwh) {
        return in.price_per_mwh ? std::optional(Measured{mwh.value * *in.price_per_mwh,
                                                         mwh.u * *in.price_per_mwh})
                                : std::nullopt;
    };
    out.money = money(out.mwh);

    // Parts of one error share what it cost in proportion: the sum is then what it must be.
    double explained = 0, explained_u = 0;
    double const per_percent =
        e != 0 ? energy.misstated / in.error_percent.value : energy.per_error / 100;
    auto const add = [&](std::string name, Measured percent) {
        double const common =
            out.mwh.value != 0
                ? std::hypot(out.u_of_onset_mwh, out.u_of_volume_mwh) / std::abs(out.mwh.value)
                : 0;
        Measured mwh{percent.value * per_percent, 0};
        mwh.u = std::hypot(percent.u * per_percent, mwh.value * common);
        out.causes.push_back({std::move(name), mwh, money(mwh)});
    };
    for (auto const& cause : in.causes) {
        add(cause.name, cause.percent);
        explained += cause.percent.value;
        explained_u = std::hypot(explained_u, cause.percent.u);
    }
    if (!in.causes.empty()) {
        Measured const rest{in.error_percent.value - explained,
                            std::hypot(explained_u, in.error_percent.u)};
        if (std::abs(rest.value) > 1e-12) add("not explained", rest);
        if (std::abs(rest.value) > 2 * rest.u && std::abs(rest.value) > 1e-12)
            out.warnings.emplace_back(
                "The causes do not add up to the error as found: something is not yet explained.");
    }
    return out;
}

}  // namespace gw::bench
