#include "gas/phase_envelope.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "gas/envelope_trace.hpp"
#include "gas/phase_stability.hpp"
#include "gas/vapour_pressure.hpp"

namespace gw::gas {

namespace {

using Point = PhaseEnvelope::Point;

constexpr double slack = 0.005;  // ln T: what a step may bulge beyond its ends
// Pa: up to the one Wilson's estimate mostly leads to the dew point, up to the other it always
// does.
constexpr double highest_easy_p = 1e6, surely_easy_p = 100e3;

// The dew point at ln p on the step from a to b, where the cubic between them guesses X.
Point boundary_at_pressure(CubicMixture const& mixture,
                           std::span<double const> z,
                           Point const& a,
                           Point const& b,
                           std::vector<double> const& X,
                           double ln_p) {
    std::size_t const n = z.size();
    auto const side = Boundary::dew;
    double const cold = std::min(a.X[n], b.X[n]) - slack, hot = std::max(a.X[n], b.X[n]) + slack;
    auto found = incipient_phase(mixture, z, side, X, n + 1, ln_p, 20);
    if (found && found->point.X[n] > cold && found->point.X[n] < hot) return found->point;
    // Close to an extreme of pressure or to the critical point: along the variable that was fixed,
    // by the secant, kept between the ends.
    auto const spec = b.spec;
    double at = X[spec], before = a.X[spec], off_before = a.X[n + 1] - ln_p;
    for (int i = 0; i < 30; ++i) {
        found = incipient_phase(mixture, z, side, between(a, b, spec, at), spec, at, 20);
        if (!found) break;
        auto const& point = found->point;
        double const off = point.X[n + 1] - ln_p;
        if (std::abs(off) < 1e-12 || off == off_before) return point;
        double const next = at - off * (at - before) / (off - off_before);
        if (!(std::min(a.X[spec], b.X[spec]) <= next && next <= std::max(a.X[spec], b.X[spec])))
            break;
        if (std::abs(next - at) < 1e-14) return point;
        before = std::exchange(at, next);
        off_before = off;
    }
    return {phase_point(X), true, X, a.dX, n + 1};
}

}  // namespace

std::string_view name(EnvelopeEnd end) {
    switch (end) {
        case EnvelopeEnd::closed:
            return "closed";
        case EnvelopeEnd::open:
            return "open";
        case EnvelopeEnd::stopped:
            return "stopped";
        case EnvelopeEnd::three_phases:
            return "three_phases";
        case EnvelopeEnd::lost:
            break;
    }
    return "lost";
}

Result<PhaseEnvelope> phase_envelope(CubicMixture const& mixture,
                                     std::span<double const> z,
                                     EnvelopeOptions const& options) {
    if (z.size() == 1) {
        PhaseEnvelope out(mixture, z);
        out.trace_vapour_pressure(options);
        return out;
    }
    auto traced = envelope_trace(mixture, z, Boundary::dew, options);
    if (!traced)
        return fail(Errc::out_of_range,
                    fmt::format("No dew point was found at {:.6g} kPa.", options.start_p / 1e3),
                    "composition",
                    "check the amounts");
    PhaseEnvelope out(mixture, z);
    out.points_ = std::move(traced->points);
    out.critical_ = traced->critical;
    out.end_ = traced->end;
    if (options.only_dew_line_down_to) return out;
    out.cut_at_three_phases(options);
    out.find_extremes();
    return out;
}

// Dew and bubble line are one, and every extreme is the critical point.
void PhaseEnvelope::trace_vapour_pressure(EnvelopeOptions const& options) {
    constexpr int steps = 40;
    PhasePoint const top{mixture_.critical_temperature(0), mixture_.critical_pressure(0)};
    auto const add = [&](double T, double p) {
        Point point;
        point.at = {T, p};
        point.X = {0.0, std::log(T), std::log(p)};
        point.dX = {0.0, 0.0, 1.0};
        point.spec = 2;
        points_.push_back(std::move(point));
    };
    for (int i = 0; i < steps && options.start_p < top.p; ++i) {
        double const p =
            options.start_p * std::pow(top.p / options.start_p, static_cast<double>(i) / steps);
        if (auto const T = saturation_temperature(mixture_, p)) add(*T, p);
    }
    add(top.T, top.p);
    critical_ = cricondentherm_ = cricondenbar_ = top;
    end_ = EnvelopeEnd::closed;
}

// Nothing lower than the phase that the point was found with.
bool PhaseEnvelope::feed_is_stable(Point const& point) const {
    std::vector<double> incipient(z_.size());
    for (std::size_t i = 0; i < z_.size(); ++i) incipient[i] = std::log(z_[i]) + point.X[i];
    return phase_stability(mixture_, z_, kelvin(point.at.T), pascal(point.at.p), incipient).stable;
}

// A lean gas with traces of heavy components drops two liquids when it is cold enough: there the
// dew line ends at three phases, and what a two-phase continuation finds beyond is no boundary. The
// bubble line then comes from low pressure and ends there too.
void PhaseEnvelope::cut_at_three_phases(EnvelopeOptions const& options) {
    std::size_t dew_count = 0;
    while (dew_count < points_.size() && points_[dew_count].dew) ++dew_count;
    if (dew_count < 4) return;
    // The point next to the critical one says nothing: there every distance is nought.
    std::size_t unstable = dew_count - (critical_ ? 2 : 1);
    bool const on_dew_line = !feed_is_stable(points_[unstable]);
    if (!on_dew_line) {
        if (end_ != EnvelopeEnd::lost || feed_is_stable(points_.back())) return;
        unstable = points_.size() - 1;
    }
    std::size_t stable = on_dew_line ? 0 : std::min(dew_count, unstable - 1);
    while (unstable - stable > 1) {
        std::size_t const middle = (stable + unstable) / 2;
        (feed_is_stable(points_[middle]) ? stable : unstable) = middle;
    }
    auto const beyond = points_[unstable];
    points_.resize(stable + 1);
    auto const last = points_.back();
    double low = last.X[beyond.spec], high = beyond.X[beyond.spec];
    for (int i = 0; i < 12; ++i) {  // the last step as far as it is a boundary
        double const middle = 0.5 * (low + high);
        auto const found = incipient_phase(mixture_,
                                           z_,
                                           last.dew ? Boundary::dew : Boundary::bubble,
                                           between(last, beyond, beyond.spec, middle),
                                           beyond.spec,
                                           middle);
        if (!found) break;
        bool const holds = feed_is_stable(found->point);
        (holds ? low : high) = middle;
        if (!holds) continue;
        points_.resize(stable + 1);
        points_.push_back(found->point);
    }
    end_ = EnvelopeEnd::three_phases;
    if (!on_dew_line) return;
    critical_.reset();
    auto const bubble = envelope_trace(mixture_, z_, Boundary::bubble, options);
    if (!bubble) return;
    bool joined = false;
    for (auto const& point : bubble->points) {
        if (point.dew) break;
        if (!feed_is_stable(point)) {
            joined = false;
            continue;
        }
        points_.push_back(point);
        points_.back().joined = joined;
        joined = true;
    }
}

void PhaseEnvelope::find_extremes() {
    std::size_t const n = z_.size();
    std::vector<Point> all;
    for (std::size_t k = 0; k < points_.size(); ++k) {
        if (k > 0 && points_[k].joined) {
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
                    auto const found = incipient_phase(mixture_,
                                                       z_,
                                                       b.dew ? Boundary::dew : Boundary::bubble,
                                                       between(a, b, spec, at),
                                                       spec,
                                                       at);
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
        if (!all[k].joined || !all[k + 1].joined) continue;
        auto const& before = all[k - 1];
        auto const spec = all[k + 1].spec;
        double const way = all[k + 1].X[spec] - before.X[spec];
        if ((all[k].X[spec] - before.X[spec]) * way > way * way) std::swap(all[k], all[k + 1]);
    }
    points_ = std::move(all);
}

std::vector<double> PhaseEnvelope::dew_temperatures(double p) const {
    std::vector<double> out;
    for (auto const& point : dew_points(p)) out.push_back(point.at.T);
    return out;
}

std::vector<Point> PhaseEnvelope::dew_points(double p) const {
    std::size_t const n = z_.size();
    double const ln_p = std::log(p);
    std::vector<Point> out;
    if (n == 1) {
        auto const T = saturation_temperature(mixture_, p);
        if (T) out.push_back({{*T, p}, true, {0.0, std::log(*T), ln_p}, {0.0, 0.0, 1.0}, 2, true});
        return out;
    }
    for (std::size_t k = 1; k < points_.size(); ++k) {
        auto const& a = points_[k - 1];
        auto const& b = points_[k];
        if (!a.dew || !b.joined) break;
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
        auto point = boundary_at_pressure(mixture_, z_, a, b, X, ln_p);
        // Farther along the line the gas may have split already: see cut_at_three_phases.
        if (!out.empty() && !feed_is_stable(point)) continue;
        out.push_back(std::move(point));
    }
    std::sort(
        out.begin(), out.end(), [](Point const& a, Point const& b) { return a.at.T > b.at.T; });
    return out;
}

std::optional<PhasePoint> PhaseEnvelope::highest_dew_point(double p) const {
    if (cricondentherm_ && cricondentherm_->p <= p) return cricondentherm_;
    auto const at = dew_points(p);
    if (at.empty()) return std::nullopt;
    return PhasePoint{at.front().at.T, p};
}

Result<std::vector<Point>> dew_points(CubicMixture const& mixture,
                                      std::span<double const> z,
                                      double p) {
    EnvelopeOptions options;
    options.start_p = std::min(0.5 * p, highest_easy_p);
    options.only_dew_line_down_to = p;
    auto line = phase_envelope(mixture, z, options);
    if (!line || line->end() == EnvelopeEnd::lost) {
        options.start_p = std::min(0.5 * p, surely_easy_p);
        line = phase_envelope(mixture, z, options);
    }
    if (!line) return pass_on(line.error());
    return line->dew_points(p);
}

std::optional<Point> dew_point_near(CubicMixture const& mixture,
                                    std::span<double const> z,
                                    double p,
                                    Point const& known) {
    auto found = incipient_phase(mixture, z, Boundary::dew, known.X, z.size() + 1, std::log(p), 12);
    if (!found) return std::nullopt;
    return std::move(found->point);
}

}  // namespace gw::gas
