#include "gas/envelope_trace.hpp"

#include <algorithm>
#include <cmath>

#include "gas/incipient_phase.hpp"

namespace gw::gas {

namespace {

using Point = PhaseEnvelope::Point;

constexpr double widest_ln_K = 0.6, widest_ln_T = 0.04, widest_ln_p = 0.35;  // of one step
constexpr double near_critical =
    0.12;                          // ln K: closer to the critical point the line is stepped over
constexpr double closest = 0.006;  // ln K: rounding spoils what is closer
constexpr double highest_p = 100e6, lowest_T = 50;

// The dew or bubble point at low pressure: Wilson's estimate, a few rounds of substitution, then
// Newton.
std::optional<Point> low_pressure_point(CubicMixture const& mixture,
                                        std::span<double const> z,
                                        Boundary boundary,
                                        double p) {
    std::size_t const n = z.size();
    bool const dew = boundary == Boundary::dew;
    std::vector<double> ln_K(n), X(n + 2);
    auto const incipient_sum = [&](double T) {
        mixture.wilson_ln_K(T, p, ln_K);
        double sum = 0;
        for (std::size_t i = 0; i < n; ++i) sum += z[i] * std::exp(X[i] = dew ? -ln_K[i] : ln_K[i]);
        return sum;
    };
    double low = 20, high = 1500;
    for (int i = 0; i < 60; ++i) {
        double const T = 0.5 * (low + high);
        ((incipient_sum(T) > 1) == dew ? low : high) = T;
    }
    double T = high;
    incipient_sum(T);
    auto const feed_root = dew ? Root::vapour : Root::liquid;
    auto const other_root = dew ? Root::liquid : Root::vapour;
    std::vector<double> w(n);
    Fugacity feed, other;
    for (int round = 0; round < 100; ++round) {
        double sum = 0, slope = 0;
        for (std::size_t i = 0; i < n; ++i) w[i] = z[i] * std::exp(X[i]);
        mixture.fugacity(z, T, p, WithDerivatives::of_state, feed, feed_root);
        mixture.fugacity(w, T, p, WithDerivatives::of_state, other, other_root);
        double moved = 0;
        for (std::size_t i = 0; i < n; ++i) {
            double const next = feed.ln_phi[i] - other.ln_phi[i];
            moved = std::max(moved, std::abs(next - X[i]));
            X[i] = next;
            double const amount = z[i] * std::exp(next);
            sum += amount;
            slope += amount * (feed.d_T[i] - other.d_T[i]);
        }
        double const step = -std::log(sum) * sum / slope;
        if (!std::isfinite(step)) return std::nullopt;
        T += std::clamp(step, -0.05 * T, 0.05 * T);
        if (moved < 1e-4 && std::abs(step) < 1e-4 * T) break;
    }
    X[n] = std::log(T);
    X[n + 1] = std::log(p);
    auto found = incipient_phase(mixture, z, boundary, X, n + 1, X[n + 1], 30);
    if (!found) return std::nullopt;
    return std::move(found->point);
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

}  // namespace

PhasePoint phase_point(std::vector<double> const& X) {
    return {std::exp(X[X.size() - 2]), std::exp(X.back())};
}

std::optional<EnvelopeTrace> envelope_trace(CubicMixture const& mixture,
                                            std::span<double const> z,
                                            Boundary boundary,
                                            EnvelopeOptions const& options) {
    std::size_t const n = z.size();
    auto const first = low_pressure_point(mixture, z, boundary, options.start_p);
    if (!first) return std::nullopt;
    EnvelopeTrace out;
    out.points.push_back(*first);
    bool dew = first->dew;
    double share = 0.3;  // of the widest step
    double edge = 2.5;   // times near_critical: from here the leap is tried
    constexpr double closest_edge = 1.3;
    std::vector<double> direction = first->dX;  // pressure was fixed and is to rise
    while (static_cast<int>(out.points.size()) < options.most_points) {
        auto const& here = out.points.back();
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
            bool const at_the_edge = std::abs(here.X[spec]) < edge * near_critical;
            step = at_the_edge ? std::abs(here.X[spec]) + near_critical
                               : std::abs(here.X[spec]) - near_critical;
            crossing = at_the_edge;
        }
        // With the point before, a better guess than the tangent alone.
        auto const* const before =
            out.points.size() > 1 ? &out.points[out.points.size() - 2] : nullptr;
        double const stride = before != nullptr ? (here.X[spec] - before->X[spec]) * way : 0.0;
        bool const curve_known = stride > 0 && before->dX[spec] != 0 && here.dX[spec] != 0;
        auto const guess = [&](bool curved) {
            if (curved) return between(*before, here, spec, here.X[spec] + way * step);
            auto X = here.X;
            for (std::size_t k = 0; k < X.size(); ++k) X[k] += step * tangent[k];
            return X;
        };
        // Beyond the critical point feed and incipient phase have changed places.
        auto const side = dew != crossing ? Boundary::dew : Boundary::bubble;
        auto found = incipient_phase(mixture,
                                     z,
                                     side,
                                     guess(curve_known && step < 2 * stride),
                                     spec,
                                     here.X[spec] + way * step);
        for (double const landing : {1.0, 0.6, 1.6, 2.5, 4.0})
            for (bool const curved : {true, false}) {
                if (found || !crossing || (curved && !curve_known)) continue;
                step = std::abs(here.X[spec]) + landing * near_critical;
                found = incipient_phase(
                    mixture, z, side, guess(curved), spec, here.X[spec] + way * step, 20);
            }
        bool leap = !found;
        if (found)  // another branch, or a stride too far to trust
            for (std::size_t k = 0; k < n + 2; ++k)
                leap |= std::abs(found->point.X[k] - here.X[k]) > 3 * width_of(k, n) && !crossing;
        if (leap) {
            if (crossing && edge > closest_edge &&
                std::abs(here.X[spec]) > closest_edge * near_critical) {
                edge = closest_edge;  // go nearer before the leap
                continue;
            }
            share *= 0.4;
            if (share < 1e-4 || crossing) break;
            continue;
        }
        auto point = found->point;
        if (crossing) {
            auto critical = between(here, point, spec, 0.0);
            // Points half as far, as long as they can be had, leave a sixteenth of the error each.
            // On which side of it a pressure lies, when it is far, the first estimate tells.
            auto const wanted = options.only_dew_line_down_to;
            bool const refine = !wanted || std::abs(critical.back() - std::log(*wanted)) < 0.05;
            Point nearer = here, beyond = point;
            for (double near = 0.5 * near_critical; refine && near > closest; near *= 0.5) {
                auto one = incipient_phase(mixture,
                                           z,
                                           dew ? Boundary::dew : Boundary::bubble,
                                           between(nearer, beyond, spec, -way * near),
                                           spec,
                                           -way * near);
                auto other = incipient_phase(mixture,
                                             z,
                                             dew ? Boundary::bubble : Boundary::dew,
                                             between(nearer, beyond, spec, way * near),
                                             spec,
                                             way * near);
                if (!one || !other) break;
                nearer = std::move(one->point);
                beyond = std::move(other->point);
                critical = between(nearer, beyond, spec, 0.0);
            }
            if (!out.critical) out.critical = phase_point(critical);
            dew = !dew;
        }
        point.dew = dew;
        direction = point.dX;
        if (direction[spec] * way < 0)
            for (double& d : direction) d = -d;
        if (found->iterations <= 3)
            share = std::min(share * 1.4, 1.0);
        else if (found->iterations > 4)
            share *= 0.6;
        double const last_p = here.at.p;  // `here` ends with the next line
        out.points.push_back(point);
        if (auto const least = options.only_dew_line_down_to)
            if (!dew || (point.at.p < *least && last_p >= *least)) {
                out.end = EnvelopeEnd::stopped;
                return out;
            }
        if (point.at.p > highest_p) {
            out.end = EnvelopeEnd::open;
            break;
        }
        if (point.at.T < lowest_T || (point.at.p < options.start_p && out.points.size() > 3)) {
            out.end = EnvelopeEnd::closed;
            break;
        }
    }
    return out;
}

}  // namespace gw::gas
