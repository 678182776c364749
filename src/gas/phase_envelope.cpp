#include "gas/phase_envelope.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "gas/incipient_phase.hpp"

namespace gw::gas {

namespace {

using Point = PhaseEnvelope::Point;

constexpr double widest_ln_K = 0.6, widest_ln_T = 0.04, widest_ln_p = 0.35;  // of one step
constexpr double near_critical =
    0.12;  // ln K: closer to the critical point the line is stepped over
constexpr double highest_p = 100e6, lowest_T = 50;

// The dew point at low pressure: Wilson's estimate, a few rounds of substitution, then Newton.
std::optional<Point> low_pressure_dew_point(CubicMixture const& mixture,
                                            std::span<double const> z,
                                            double p) {
    std::size_t const n = z.size();
    std::vector<double> ln_K(n), X(n + 2);
    auto const liquid_sum = [&](double T) {
        mixture.wilson_ln_K(T, p, ln_K);
        double sum = 0;
        for (std::size_t i = 0; i < n; ++i) sum += z[i] * std::exp(-ln_K[i]);
        return sum;
    };
    double low = 20, high = 1500;
    for (int i = 0; i < 60; ++i) {
        double const T = 0.5 * (low + high);
        (liquid_sum(T) > 1 ? low : high) = T;
    }
    double T = high;
    liquid_sum(T);
    for (std::size_t i = 0; i < n; ++i) X[i] = -ln_K[i];
    std::vector<double> w(n);
    Fugacity feed, liquid;
    for (int round = 0; round < 100; ++round) {
        double sum = 0, slope = 0;
        for (std::size_t i = 0; i < n; ++i) w[i] = z[i] * std::exp(X[i]);
        mixture.fugacity(z, T, p, WithDerivatives::yes, feed);
        mixture.fugacity(w, T, p, WithDerivatives::yes, liquid);
        double moved = 0;
        for (std::size_t i = 0; i < n; ++i) {
            double const next = feed.ln_phi[i] - liquid.ln_phi[i];
            moved = std::max(moved, std::abs(next - X[i]));
            X[i] = next;
            double const amount = z[i] * std::exp(next);
            sum += amount;
            slope += amount * (feed.d_T[i] - liquid.d_T[i]);
        }
        double const step = -std::log(sum) * sum / slope;
        if (!std::isfinite(step)) return std::nullopt;
        T += std::clamp(step, -0.05 * T, 0.05 * T);
        if (moved < 1e-4 && std::abs(step) < 1e-4 * T) break;
    }
    X[n] = std::log(T);
    X[n + 1] = std::log(p);
    auto const found = incipient_phase(mixture, z, X, n + 1, X[n + 1], 30);
    if (!found) return std::nullopt;
    return found->point;
}

double width_of(std::size_t k, std::size_t n) {
    return k < n ? widest_ln_K : k == n ? widest_ln_T : widest_ln_p;
}

std::size_t fastest(std::vector<double> const& dX, std::size_t n) {
    std::size_t best = 0;
    for (std::size_t k = 1; k < dX.size(); ++k)
        if (std::abs(dX[k]) / width_of(k, n) > std::abs(dX[best]) / width_of(best, n)) best = k;
    return best;
}

std::size_t farthest_apart(std::vector<double> const& X, std::size_t n) {
    std::size_t best = 0;
    for (std::size_t k = 1; k < n; ++k)
        if (std::abs(X[k]) > std::abs(X[best])) best = k;
    return best;
}

PhasePoint phase_point(std::vector<double> const& X) {
    return {std::exp(X[X.size() - 2]), std::exp(X.back())};
}

}  // namespace

std::string_view name(EnvelopeEnd end) {
    switch (end) {
        case EnvelopeEnd::closed:
            return "closed";
        case EnvelopeEnd::open:
            return "open";
        case EnvelopeEnd::lost:
            break;
    }
    return "lost";
}

Result<PhaseEnvelope> phase_envelope(CubicMixture const& mixture,
                                     std::span<double const> z,
                                     EnvelopeOptions const& options) {
    std::size_t const n = z.size();
    if (n < 2)
        return fail(Errc::bad_input,
                    "One component alone has a vapour pressure and no phase envelope.",
                    "composition",
                    "give a mixture");
    auto const first = low_pressure_dew_point(mixture, z, options.start_p);
    if (!first)
        return fail(Errc::out_of_range,
                    fmt::format("No dew point was found at {:.6g} kPa.", options.start_p / 1e3),
                    "composition",
                    "check the amounts");
    PhaseEnvelope out(mixture, z);
    out.points_.push_back(*first);
    bool dew = true;
    double share = 0.3;                         // of the widest step
    std::vector<double> direction = first->dX;  // pressure was fixed and is to rise
    while (static_cast<int>(out.points_.size()) < options.most_points) {
        auto const& here = out.points_.back();
        // The variable that changes fastest is fixed; near the critical point the widest ln K.
        auto const apart = farthest_apart(here.X, n);
        bool const close = std::abs(here.X[apart]) < 0.5;
        auto const spec = close ? apart : fastest(direction, n);
        double const way = direction[spec] >= 0 ? 1.0 : -1.0;
        std::vector<double> tangent(direction.size());
        for (std::size_t k = 0; k < tangent.size(); ++k)
            tangent[k] = direction[k] / std::abs(direction[spec]);
        auto const limit = fastest(tangent, n);
        double step = share * width_of(limit, n) / std::abs(tangent[limit]);
        bool crossing = false;
        if (spec < n && here.X[spec] * way < 0 && std::abs(here.X[spec]) - step < near_critical) {
            bool const at_the_edge = std::abs(here.X[spec]) < 2.5 * near_critical;
            step = at_the_edge ? std::abs(here.X[spec]) + near_critical
                               : std::abs(here.X[spec]) - near_critical;
            crossing = at_the_edge;
        }
        auto X = here.X;
        for (std::size_t k = 0; k < X.size(); ++k) X[k] += step * tangent[k];
        if (out.points_.size() >
            1) {  // with the point before, a better guess than the tangent alone
            auto const& before = out.points_[out.points_.size() - 2];
            double const h = here.X[spec] - before.X[spec];
            if (h * way > 0 && step < 2 * std::abs(h) && before.dX[spec] != 0 && here.dX[spec] != 0)
                X = between(before, here, spec, here.X[spec] + way * step);
        }
        auto found = incipient_phase(mixture, z, X, spec, here.X[spec] + way * step);
        // Beyond the critical point the phases have changed places: other landings and plain
        // tangents.
        for (double const landing : {1.0, 0.6, 1.6, 2.5, 4.0}) {
            if (found || !crossing) break;
            step = std::abs(here.X[spec]) + landing * near_critical;
            X = here.X;
            for (std::size_t k = 0; k < X.size(); ++k) X[k] += step * tangent[k];
            found = incipient_phase(mixture, z, X, spec, here.X[spec] + way * step, 20);
        }
        bool leap = !found;
        if (found)  // another branch, or a stride too far to trust
            for (std::size_t k = 0; k < X.size(); ++k)
                leap |= std::abs(found->point.X[k] - here.X[k]) > 3 * width_of(k, n) && !crossing;
        if (leap) {
            share *= 0.4;
            if (share < 1e-4 || crossing) break;
            continue;
        }
        auto point = found->point;
        if (crossing) {
            auto critical = between(here, point, spec, 0.0);
            // Two points half as far, if they can be had, leave a sixteenth of the error.
            double const near = 0.5 * near_critical;
            auto const one = incipient_phase(
                mixture, z, between(here, point, spec, -way * near), spec, -way * near);
            auto const other = incipient_phase(
                mixture, z, between(here, point, spec, way * near), spec, way * near);
            if (one && other) critical = between(one->point, other->point, spec, 0.0);
            out.critical_ = phase_point(critical);
            dew = false;
        }
        point.dew = dew;
        direction = point.dX;
        if (direction[spec] * way < 0)
            for (double& d : direction) d = -d;
        if (found->iterations <= 3)
            share = std::min(share * 1.4, 1.0);
        else if (found->iterations > 4)
            share *= 0.6;
        out.points_.push_back(point);
        if (point.at.p > highest_p) {
            out.end_ = EnvelopeEnd::open;
            break;
        }
        if (point.at.T < lowest_T || (point.at.p < options.start_p && out.points_.size() > 3)) {
            out.end_ = EnvelopeEnd::closed;
            break;
        }
    }
    out.find_extremes();
    return out;
}

void PhaseEnvelope::find_extremes() {
    std::size_t const n = z_.size();
    std::vector<Point> all;
    for (std::size_t k = 0; k < points_.size(); ++k) {
        if (k > 0) {
            auto const& a = points_[k - 1];
            auto const& b = points_[k];
            auto const spec = b.spec;
            for (std::size_t const variable : {n, n + 1}) {
                // slope of the variable along the line, both ends taken the same way round
                auto const slope = [&](Point const& point) {
                    return point.dX[variable] / point.dX[spec];
                };
                if (spec == variable || !(slope(a) * slope(b) < 0)) continue;
                double low = a.X[spec], high = b.X[spec];
                double slope_low = slope(a), slope_high = slope(b);
                std::optional<Point> extreme;
                for (int i = 0; i < 60; ++i) {
                    double const secant = low - slope_low * (high - low) / (slope_high - slope_low);
                    double const at = i % 3 == 2 ? 0.5 * (low + high) : secant;
                    auto const found =
                        incipient_phase(mixture_, z_, between(a, b, spec, at), spec, at);
                    if (!found) break;
                    extreme = found->point;
                    double const s = slope(*extreme);
                    if (std::abs(s) < 1e-10 || std::abs(high - low) < 1e-12) break;
                    if (s * slope_low > 0)
                        low = at, slope_low = s;
                    else
                        high = at, slope_high = s;
                }
                PhasePoint const at =
                    extreme ? extreme->at
                            : phase_point(between(
                                  a,
                                  b,
                                  spec,
                                  low - slope_low * (high - low) / (slope_high - slope_low)));
                auto& record = variable == n ? cricondentherm_ : cricondenbar_;
                bool const higher =
                    !record || (variable == n ? at.T > record->T : at.p > record->p);
                bool const maximum = slope(a) * (b.X[spec] - a.X[spec]) > 0;
                if (maximum && higher) record = at;
                if (extreme) {
                    extreme->dew = a.dew && b.dew;
                    extreme->spec = spec;
                    all.push_back(*extreme);
                }
            }
        }
        all.push_back(points_[k]);
    }
    // Two extremes in one step stand in the order they were found: put them in that of the line.
    for (std::size_t k = 1; k + 1 < all.size(); ++k) {
        auto const& before = all[k - 1];
        auto const spec = all[k + 1].spec;
        double const way = all[k + 1].X[spec] - before.X[spec];
        if ((all[k].X[spec] - before.X[spec]) * way > way * way) std::swap(all[k], all[k + 1]);
    }
    points_ = std::move(all);
}

std::vector<double> PhaseEnvelope::dew_temperatures(double p) const {
    std::size_t const n = z_.size();
    double const ln_p = std::log(p);
    std::vector<double> out;
    for (std::size_t k = 1; k < points_.size(); ++k) {
        auto const& a = points_[k - 1];
        auto const& b = points_[k];
        if (!a.dew) break;
        double const end_p = b.dew || !critical_ ? b.X[n + 1] : std::log(critical_->p);
        if (!((a.X[n + 1] - ln_p) * (end_p - ln_p) <= 0) || a.X[n + 1] == ln_p) continue;
        // where on the step: along the variable that was fixed, by halving the cubic
        auto const spec = b.spec;
        double low = a.X[spec], high = b.dew ? b.X[spec] : 0.0;
        bool const rising = end_p > a.X[n + 1];
        for (int i = 0; i < 50; ++i) {
            double const middle = 0.5 * (low + high);
            (between(a, b, spec, middle)[n + 1] < ln_p) == rising ? low = middle : high = middle;
        }
        auto const X = between(a, b, spec, 0.5 * (low + high));
        auto const found = incipient_phase(mixture_, z_, X, n + 1, ln_p, 20);
        out.push_back(found && std::abs(found->point.X[n] - X[n]) < 0.02 ? found->point.at.T
                                                                         : std::exp(X[n]));
    }
    std::sort(out.rbegin(), out.rend());
    return out;
}

}  // namespace gw::gas
