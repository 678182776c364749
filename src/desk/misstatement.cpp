#include "desk/misstatement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"
#include "metrology/statistics.hpp"

namespace gw::desk {

namespace {

constexpr double day_s = 86400;

// Times as the user writes them, brought to seconds on one line.
struct Clock {
    std::optional<Instant> zero;
    double per_number = 1;  // seconds in a bare number

    Result<double> seconds(std::string const& text, std::string const& option) {
        if (auto const number = parse_number(text)) {
            if (zero)
                return fail(Errc::bad_input,
                            fmt::format("\"{}\" is no instant.", text.substr(0, 40)),
                            option,
                            "write it like 2026-03-02T10:00:00+01:00");
            return *number * per_number;
        }
        GW_TRY(auto const instant, parse_instant(text, option));
        if (!zero) zero = instant;
        return 1e-3 * static_cast<double>(instant.milliseconds - zero->milliseconds);
    }
    [[nodiscard]] std::string text(double seconds) const {
        if (!zero) return shortest(seconds / per_number);
        return to_text(
            Instant{zero->milliseconds + static_cast<std::int64_t>(std::llround(seconds * 1e3)),
                    zero->offset_minutes});
    }
};

Result<std::vector<bench::MeteredGas>> read_volumes(MisstatementRequest const& request,
                                                    Clock& clock) {
    auto const& path = *request.volumes;
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const table, trace::read_series(bytes, path));
    clock.zero = table.start;
    auto const* volume = table.find("volume_m3");
    if (volume == nullptr)
        return fail(
            Errc::bad_input, "No column is titled volume_m3.", path, "title the metered volume so");
    auto const* cv = table.find("cv");
    if (cv == nullptr) cv = table.find("cv_mj_m3");
    if (cv == nullptr) cv = table.find("gross_cv_volume");
    if (cv == nullptr && !request.cv_mj_m3)
        return fail(Errc::bad_input,
                    "Nothing says the indicated calorific value.",
                    path,
                    "add a column cv, MJ/m3, or give --cv");
    if (table.t.size() < 2)
        return fail(Errc::bad_input, "One row says no length of time.", path, "give two or more");
    std::vector<double> gaps;
    for (std::size_t i = 1; i < table.t.size(); ++i) gaps.push_back(table.t[i] - table.t[i - 1]);
    double const usual = metrology::median(gaps);
    std::vector<bench::MeteredGas> out;
    for (std::size_t i = 0; i < volume->y.size(); ++i) {
        double const from = volume->t[i];
        std::size_t const row = volume->row[i];
        // A row holds until the next, but not across a gap in the record.
        double const to = row + 1 < table.t.size() ? std::min(table.t[row + 1], from + 1.5 * usual)
                                                   : from + usual;
        double value = request.cv_mj_m3.value_or(0);
        if (cv != nullptr) {
            auto const found = std::find(cv->row.begin(), cv->row.end(), row);
            if (found == cv->row.end()) {
                if (!request.cv_mj_m3)
                    return fail(Errc::bad_input,
                                fmt::format("Row {} has a volume but no calorific value.", row + 1),
                                path,
                                "complete it or give --cv");
            } else {
                value = cv->y[static_cast<std::size_t>(found - cv->row.begin())];
            }
        }
        out.push_back({from, to, volume->y[i], value});
    }
    return out;
}

Result<bench::ErrorCause> cause_of(std::string const& text) {
    auto const wrong = [&] {
        return fail(
            Errc::bad_input,
            fmt::format("\"{}\" is no cause with its part of the error.", text.substr(0, 60)),
            "--cause",
            "write it like \"wrong certificate=-0.2:0.05\", percent and u");
    };
    auto const equals = text.rfind('=');
    if (equals == std::string::npos || equals == 0) return wrong();
    bench::ErrorCause out;
    out.name = std::string(trimmed(text.substr(0, equals)));
    auto const parts = split(std::string_view(text).substr(equals + 1), ':');
    auto const value = parse_number(parts[0]);
    if (!value || parts.size() > 2) return wrong();
    out.percent.value = *value;
    if (parts.size() == 2) {
        auto const u = parse_number(parts[1]);
        if (!u || *u < 0) return wrong();
        out.percent.u = *u;
    }
    return out;
}

Result<bench::Onset> onset_of(MisstatementRequest const& request, Clock& clock) {
    bench::Onset out;
    if (request.onset.has_value() == request.last_good.has_value())
        return fail(Errc::bad_input,
                    "The onset is needed once: known, or by the half-period rule.",
                    "--onset",
                    "give --onset, or --last-good");
    if (request.last_good) {
        out.rule = bench::OnsetRule::half_period;
        GW_TRY(out.last_good_s, clock.seconds(*request.last_good, "--last-good"));
        if (request.cap_days) {
            if (!(*request.cap_days > 0))
                return fail(Errc::bad_input, "The cap is above zero days.", "--cap-days");
            out.cap_s = *request.cap_days * day_s;
        }
        return out;
    }
    GW_TRY(out.at_s, clock.seconds(*request.onset, "--onset"));
    if (request.onset_from.has_value() != request.onset_to.has_value())
        return fail(Errc::bad_input,
                    "An interval of the onset has two ends.",
                    "--onset-from",
                    "give both --onset-from and --onset-to");
    if (request.onset_from) {
        out.rule = bench::OnsetRule::change_point;
        GW_TRY(out.from_s, clock.seconds(*request.onset_from, "--onset-from"));
        GW_TRY(out.to_s, clock.seconds(*request.onset_to, "--onset-to"));
        if (!(*out.from_s <= out.at_s && out.at_s <= *out.to_s))
            return fail(Errc::bad_input,
                        "The onset does not lie inside its own interval.",
                        "--onset-from",
                        "correct one of the three");
    }
    return out;
}

}  // namespace

Result<MisstatementAnswer> misstatement(MisstatementRequest const& request) {
    MisstatementAnswer out;
    Clock clock;
    out.currency = request.currency;
    auto& in = out.inputs;
    if (request.volumes) {
        GW_TRY(in.gas, read_volumes(request, clock));
    } else {
        if (!request.flow_m3_per_day || !request.cv_mj_m3)
            return fail(Errc::bad_input,
                        "Neither volumes nor a steady flow with its calorific value are given.",
                        "VOLUMES",
                        "give the file, or --flow and --cv");
        clock.per_number = day_s;
    }
    if (!request.found)
        return fail(
            Errc::bad_input, "The moment the error was found is needed.", "--found", "add it");
    GW_TRY(in.onset, onset_of(request, clock));
    GW_TRY(in.found_s, clock.seconds(*request.found, "--found"));
    if (!request.volumes)
        in.gas.push_back({in.found_s - 3660 * day_s,
                          in.found_s,
                          3660 * *request.flow_m3_per_day,
                          *request.cv_mj_m3});
    if (request.ramp) {
        in.course = bench::ErrorCourse::ramp;
        if (!request.volumes) {  // a ramp needs its hours
            in.gas.clear();
            for (int i = 3660 * 24; i > 0; --i)
                in.gas.push_back({in.found_s - i * day_s / 24,
                                  in.found_s - (i - 1) * day_s / 24,
                                  *request.flow_m3_per_day / 24,
                                  *request.cv_mj_m3});
        }
    }
    in.error_percent = {request.error_percent, request.error_u_percent};
    in.volume_u_percent = request.volume_u_percent;
    in.price_per_mwh = request.price_per_mwh;
    for (auto const& text : request.causes) {
        GW_TRY(auto cause, cause_of(text));
        in.causes.push_back(std::move(cause));
    }
    GW_TRY(out.result, bench::misstatement(in));
    out.from = clock.text(out.result.from_s);
    out.to = clock.text(out.result.to_s);
    return out;
}

Json misstatement_json(MisstatementAnswer const& answer) {
    auto const& r = answer.result;
    auto const unit = answer.currency.empty() ? std::string("money") : answer.currency;
    Json causes = Json::array();
    for (auto const& cause : r.causes)
        causes.push_back(
            {{"cause", cause.name},
             {"energy", quantity_json(cause.mwh, "MWh")},
             {"money", cause.money ? quantity_json(*cause.money, unit) : Json(nullptr)}});
    char const* const rules[] = {"known", "change_point", "half_period"};
    return Json{
        {"from", answer.from},
        {"to", answer.to},
        {"days", (r.to_s - r.from_s) / day_s},
        {"onset_rule", rules[static_cast<int>(answer.inputs.onset.rule)]},
        {"indicated_energy_mwh", r.indicated_mwh},
        {"misstatement", quantity_json(r.mwh, "MWh")},
        {"misstatement_linear_mwh", r.linear_mwh},
        {"u_parts_mwh",
         {{"error", r.u_of_error_mwh}, {"onset", r.u_of_onset_mwh}, {"volume", r.u_of_volume_mwh}}},
        {"money", r.money ? quantity_json(*r.money, unit) : Json(nullptr)},
        {"causes", causes},
        {"warnings", r.warnings}};
}

std::string misstatement_text(MisstatementAnswer const& answer) {
    auto const& r = answer.result;
    std::string out = fmt::format("From {} to {}: {} days, {} MWh indicated.\n",
                                  answer.from,
                                  answer.to,
                                  fixed((r.to_s - r.from_s) / day_s, 3),
                                  fixed(r.indicated_mwh, 1));
    out += fmt::format("Indicated less true: {} MWh, u {} MWh (error {}, onset {}, volume {}).\n",
                       fixed(r.mwh.value, 2),
                       fixed(r.mwh.u, 2),
                       fixed(r.u_of_error_mwh, 2),
                       fixed(r.u_of_onset_mwh, 2),
                       fixed(r.u_of_volume_mwh, 2));
    out += fmt::format("Energy times error, as contracts often word it: {} MWh.\n",
                       fixed(r.linear_mwh, 2));
    out += r.mwh.value > 0   ? "The energy was overstated: the buyer paid too much.\n"
           : r.mwh.value < 0 ? "The energy was understated: the buyer paid too little.\n"
                             : "";
    if (r.money)
        out += fmt::format("Money: {} {} (u {}).\n",
                           fixed(r.money->value, 2),
                           answer.currency,
                           fixed(r.money->u, 2));
    for (auto const& cause : r.causes) {
        out += fmt::format("  {:<36}{:>14} MWh  u {:>10}",
                           cause.name,
                           fixed(cause.mwh.value, 2),
                           fixed(cause.mwh.u, 2));
        if (cause.money)
            out += fmt::format("{:>16} {}", fixed(cause.money->value, 2), answer.currency);
        out += "\n";
    }
    return out;
}

}  // namespace gw::desk
