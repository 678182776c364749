#include "visit/settle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "gas/component.hpp"
#include "metrology/statistics.hpp"

namespace gw::visit {

using metrology::Motion;

namespace {

constexpr char const* barometer_column = "ambient_kpa";

bool starts(std::string const& name, char const* with) { return name.rfind(with, 0) == 0; }
// What scales with the amount injected: all of these move together when it changes.
bool follows_amount(std::string const& name) { return starts(name, "factor:") || name == "total"; }

double last_level(std::vector<double> const& y) {
    std::size_t const n = std::min<std::size_t>(y.size(), 5);
    return metrology::median({y.end() - static_cast<std::ptrdiff_t>(n), y.end()});
}

// Correlation of two columns over the rows both have.
std::optional<double> correlation(trace::SeriesColumn const& a, trace::SeriesColumn const& b) {
    std::vector<double> x, y;
    for (std::size_t i = 0, j = 0; i < a.row.size() && j < b.row.size();) {
        if (a.row[i] == b.row[j]) {
            x.push_back(a.y[i++]);
            y.push_back(b.y[j++]);
        } else if (a.row[i] < b.row[j]) {
            ++i;
        } else {
            ++j;
        }
    }
    if (x.size() < 8) return std::nullopt;
    double const mx = metrology::mean(x), my = metrology::mean(y);
    double xy = 0, xx = 0, yy = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        xy += (x[i] - mx) * (y[i] - my);
        xx += (x[i] - mx) * (x[i] - mx);
        yy += (y[i] - my) * (y[i] - my);
    }
    if (!(xx > 0 && yy > 0)) return std::nullopt;
    return xy / std::sqrt(xx * yy);
}

struct Seen {
    trace::SeriesColumn const* column;
    SettledQuantity const* quantity;
};

// Falls or rises to the last without slowing: readings go one way and the second half is as steep
// as the first.
bool goes_one_way(trace::SeriesColumn const& c) {
    std::size_t const n = c.y.size(), third = n / 3;
    if (third < 2) return false;
    auto const part = [&](std::size_t from) {
        return metrology::median({c.y.begin() + static_cast<std::ptrdiff_t>(from),
                                  c.y.begin() + static_cast<std::ptrdiff_t>(from + third)});
    };
    double const a = part(0), b = part(third), d = part(n - third);
    double const first = b - a, second = d - b;
    return first * second > 0 && std::abs(second) > 0.5 * std::abs(first);
}

void judge_oven(std::vector<Seen> const& seen, Settlement& out) {
    for (auto const& s : seen) {
        if (s.column->name != "oven_c") continue;
        auto const& a = s.quantity->approach;
        auto const [low, high] = std::minmax_element(s.column->y.begin(), s.column->y.end());
        bool others_move = false;
        for (auto const& other : seen)
            if (other.column != s.column && other.quantity->approach.motion != Motion::still &&
                other.quantity->approach.motion != Motion::too_few &&
                !other.quantity->approach.settled)
                others_move = true;
        if (*low == *high && s.column->y.size() >= 8 && others_move) {
            out.causes.emplace_back("heater");
            out.warnings.emplace_back(
                "The oven temperature has not moved by a single digit while other readings still "
                "do: the reading or the heater may be stuck. This is no settling.");
        } else if (a.motion == Motion::drift && !a.settled) {
            out.causes.emplace_back("heater");
            out.warnings.push_back(fmt::format(
                "The oven temperature {} at a steady {} degC an hour and shows no end: a heater "
                "that is stuck {} or at its limit, not settling.",
                a.rate > 0 ? "rises" : "falls",
                fixed(std::abs(a.rate) * 3600, 3),
                a.rate > 0 ? "on" : "off"));
        } else if (a.end_value && a.remaining_change && *a.remaining_change < -1 &&
                   *a.end_value < 40 && s.column->y.back() < s.column->y.front()) {
            // No oven is set so near to the room (common practice, no source).
            out.causes.emplace_back("heater");
            out.warnings.push_back(fmt::format(
                "The oven cools towards {} degC: the heater is off or has failed. This is no "
                "settling to a set point.",
                fixed(*a.end_value, 0)));
        } else if (a.abrupt) {
            out.causes.emplace_back("heater");
            out.warnings.push_back(fmt::format(
                "The oven temperature came to rest at {} degC without slowing: a heater at its "
                "limit, or a reading at the end of its range? Compare it with the set point.",
                fixed(a.end_value.value_or(0), 2)));
        } else if (a.motion == Motion::wander && !a.settled) {
            out.causes.emplace_back("swing");
            out.warnings.emplace_back(
                "The oven temperature goes to and fro without coming to rest: its control hunts "
                "or the heater works on and off.");
        }
    }
}

// Total and factors that move alike without an end: lost gas, or the weather.
void judge_amount(std::vector<Seen> const& seen,
                  trace::SeriesTable const& series,
                  Settlement& out) {
    std::vector<Seen> restless;
    for (auto const& s : seen)
        if (follows_amount(s.column->name) && !s.quantity->approach.settled &&
            (s.quantity->approach.motion == Motion::drift ||
             s.quantity->approach.motion == Motion::wander))
            restless.push_back(s);
    if (restless.empty()) return;
    bool alike = true;
    for (std::size_t i = 1; i < restless.size(); ++i) {
        auto const r = correlation(*restless[0].column, *restless[i].column);
        alike = alike && r && std::abs(*r) > 0.6;
    }
    auto const* leader = &restless[0];
    for (auto const& s : restless)
        if (s.column->name == "total") leader = &s;
    auto const& a = leader->quantity->approach;
    auto const who = restless.size() > 1 ? std::string("Total and factors")
                                         : "The readings of " + leader->column->name;
    if (auto const* barometer = series.find(barometer_column)) {
        auto const r = correlation(*leader->column, *barometer);
        if (r && *r > 0.8) {
            out.causes.emplace_back("barometer");
            out.warnings.push_back(fmt::format(
                "{} follow the barometer (correlation {}): the amount injected goes with the "
                "pressure of the air. This is no fault and no settling; normalised amounts do not "
                "feel it.",
                who,
                fixed(*r, 2)));
            return;
        }
    }
    bool const one_way = a.motion == Motion::drift && goes_one_way(*leader->column);
    auto const together = restless.size() == 1 ? "" : alike ? " together" : ", but not all alike";
    if (one_way && a.rate < 0) {
        out.causes.emplace_back("leak");
        out.warnings.push_back(
            fmt::format("{} fall at a steady rate{} ({} an hour in {}) and show no end: a slow "
                        "leak, or a supply that "
                        "runs down, not settling. Check the sample loop and the cylinder.",
                        who,
                        together,
                        fixed(std::abs(a.rate) * 3600, 4),
                        leader->column->name));
    } else if (one_way) {
        out.causes.emplace_back("leak");
        out.warnings.push_back(
            fmt::format("{} rise at a steady rate{} ({} an hour in {}) and show no end: rising "
                        "loop pressure, a blocked "
                        "vent or a slow leak past a valve, not settling.",
                        who,
                        together,
                        fixed(std::abs(a.rate) * 3600, 4),
                        leader->column->name));
    } else {
        out.causes.emplace_back("barometer");
        out.warnings.push_back(fmt::format(
            "{} wander to and fro{} while no end shows: as the barometer does to the amount "
            "injected. Log the pressure of the air beside them (column {}), or judge normalised "
            "amounts; this is no settling.",
            who,
            together,
            barometer_column));
    }
}

void judge_rest(std::vector<Seen> const& seen, Settlement& out) {
    for (auto const& s : seen) {
        auto const& name = s.column->name;
        auto const& a = s.quantity->approach;
        if (a.motion == Motion::too_few)
            out.warnings.push_back(
                fmt::format("{}: {} readings; eight are the least that show an approach. Nothing "
                            "is said of it.",
                            name,
                            s.column->y.size()));
        if (!a.set_aside.empty())
            out.warnings.push_back(
                fmt::format("{}: {} reading{} stood out and {} not used (first in row {}).",
                            name,
                            a.set_aside.size(),
                            a.set_aside.size() == 1 ? "" : "s",
                            a.set_aside.size() == 1 ? "was" : "were",
                            s.column->row[a.set_aside.front()] + 1));
        if (a.motion == Motion::still && !a.settled)
            out.warnings.push_back(fmt::format(
                "{}: the readings scatter too much ({}) to show a change of less than {}: more "
                "readings are needed.",
                name,
                shortest(std::round(a.scatter * 1e6) / 1e6),
                shortest(s.quantity->limit.value_or(0))));
        bool const named_elsewhere = name == "oven_c" || follows_amount(name);
        if (!named_elsewhere && !a.settled && a.motion == Motion::drift)
            out.warnings.push_back(fmt::format(
                "{} changes at a steady rate and shows no end: this is drift, not settling{}.",
                name,
                starts(name, "retention:") ? " (carrier flow, or an oven that still moves)" : ""));
        if (!named_elsewhere && !a.settled && a.motion == Motion::wander)
            out.warnings.push_back(fmt::format("{} goes to and fro without coming to rest.", name));
    }
}

void forecast(Settlement& out) {
    double at = 0, from = 0, to = 0;
    bool first = true;
    for (auto const& q : out.quantities) {
        if (!q.limit) continue;
        if (!q.approach.ready_at) {
            if (q.approach.settled) continue;  // drifts, but harmlessly
            return;
        }
        at = first ? *q.approach.ready_at : std::max(at, *q.approach.ready_at);
        from = first ? *q.approach.ready_from : std::max(from, *q.approach.ready_from);
        to = first ? *q.approach.ready_to : std::max(to, *q.approach.ready_to);
        first = false;
    }
    if (first) return;
    out.ready_at = at;
    out.ready_from = from;
    out.ready_to = to;
}

}  // namespace

Result<SettleLimits> read_settle_limits(Field const& root) {
    GW_CHECK(require_schema(root, "limits"));
    GW_TRY(auto const members, root.members());
    SettleLimits out;
    for (auto const& [key, place] : members) {
        if (key == "schema" || key == "note") continue;
        GW_TRY(double const limit, place.number());
        if (!(limit > 0))
            return place.wrong("A limit of the change still to come is above zero.", "correct it");
        auto name = lowered(trimmed(key));
        if (auto const colon = key.find(':'); colon != std::string::npos) {
            GW_TRY(
                auto const component,
                gas::require_component(std::string(trimmed(key.substr(colon + 1))), place.where()));
            name = lowered(trimmed(key.substr(0, colon))) + ":" + std::string(gas::name(component));
        }
        out[name] = limit;
    }
    if (out.empty()) return root.wrong("The limits name no column.", "give {\"oven_c\": 0.05}");
    return out;
}

std::optional<double> usual_limit(trace::SeriesColumn const& column) {
    if (column.name == "oven_c") return 0.05;
    if (starts(column.name, "retention:")) return 0.1;
    if (column.name == "total") return 0.05;
    if (column.name == "baseline") return 0.1;
    if (starts(column.name, "factor:") && !column.y.empty()) {
        double const level = std::abs(last_level(column.y));
        if (level > 0) return 1e-3 * level;
    }
    return std::nullopt;
}

Settlement settle(trace::SeriesTable const& series,
                  std::optional<SettleLimits> const& limits,
                  std::size_t curve_points) {
    metrology::ApproachOptions options;
    options.curve_points = curve_points;
    Settlement out;
    out.warnings = series.warnings;
    std::vector<trace::SeriesColumn const*> columns;
    for (auto const& column : series.columns)
        if (column.name != barometer_column) columns.push_back(&column);
    if (limits)
        for (auto const& [name, limit] : *limits)
            if (series.find(name) == nullptr)
                out.warnings.push_back(
                    fmt::format("The limits name {}, which the series does not hold.", name));
    if (!limits)
        out.warnings.emplace_back(
            "No limits were given: the usual ones are taken (common practice, no source).");
    bool judged = false, all = true;
    for (auto const* column : columns) {
        SettledQuantity q;
        q.name = column->name;
        if (limits) {
            auto const found = limits->find(column->name);
            if (found != limits->end()) q.limit = found->second;
        } else {
            q.limit = usual_limit(*column);
        }
        if (!q.limit)
            out.warnings.push_back(fmt::format("{} has no limit: it is not judged.", q.name));
        double const stand_in =
            usual_limit(*column).value_or(1e-3 * std::max(std::abs(last_level(column->y)), 1e-9));
        if (column->y.size() >= 2)
            q.approach =
                metrology::approach(column->t, column->y, q.limit.value_or(stand_in), options);
        if (q.limit) {
            judged = true;
            all = all && q.approach.settled;
        }
        out.quantities.push_back(std::move(q));
    }
    out.settled = judged && all;
    std::vector<Seen> seen;
    for (std::size_t i = 0; i < columns.size(); ++i)
        seen.push_back({columns[i], &out.quantities[i]});
    judge_oven(seen, out);
    judge_amount(seen, series, out);
    judge_rest(seen, out);
    forecast(out);
    return out;
}

}  // namespace gw::visit
