// What is planned ahead: an outage with its fallback, and spare modules.
#include <fmt/format.h>

#include <cmath>

#include "bench/outage.hpp"
#include "bench/spares.hpp"
#include "bench/sums.hpp"
#include "gas/iso6976.hpp"

namespace gw::bench {

namespace {

using Form = SumField::Form;

constexpr double day_s = 86400;

constexpr SumField step_fields[] = {
    {"time", "how long it takes", Dimension::time, "min", true},
};
constexpr SumField stream_fields[] = {
    {"flow", "flow at the metering conditions", Dimension::flow, "m3/h", true},
    {"fallback_cv", "calorific value in force meanwhile", Dimension::energy, "MJ/m3"},
    {"fallback", "its composition instead", Dimension::number, "1", false, Form::gas},
    {"expected_cv",
     "what the gas will truly be, its +- the wandering from day to day",
     Dimension::energy,
     "MJ/m3"},
    {"expected", "its composition instead", Dimension::number, "1", false, Form::gas},
};
constexpr SumField outage_fields[] = {
    {"time", "how long, instead of steps", Dimension::time, "h"},
    {"steps",
     "the steps, each with the time it takes",
     Dimension::number,
     "1",
     false,
     Form::list,
     step_fields},
    {"flow", "flow of the one stream", Dimension::flow, "m3/h"},
    {"fallback_cv", "calorific value in force meanwhile", Dimension::energy, "MJ/m3"},
    {"fallback", "its composition instead, a file", Dimension::number, "1", false, Form::gas},
    {"expected_cv",
     "what the gas will truly be, its +- the wandering from day to day",
     Dimension::energy,
     "MJ/m3"},
    {"expected", "its composition instead, a file", Dimension::number, "1", false, Form::gas},
    {"streams",
     "several streams, each on its own",
     Dimension::number,
     "1",
     false,
     Form::list,
     stream_fields},
    {"limit",
     "largest error of the calorific value that the fallback may make",
     Dimension::fraction,
     "%"},
};

// A calorific value as stated, or of a composition by ISO 6976 at 15/15 degC.
Result<Measured> calorific_value(SumInputs const& in, char const* stated, char const* gas) {
    auto const composition = in.gases.find(gas);
    bool const both = in.has(stated) && composition != in.gases.end();
    if (both || (!in.has(stated) && composition == in.gases.end()))
        return fail(Errc::bad_input,
                    fmt::format("{}: {} or {}, one of the two, must be given.",
                                in.name.empty() ? "stream" : in.name,
                                stated,
                                gas),
                    stated,
                    both ? "keep one" : "add one");
    if (in.has(stated)) return in.of(stated);
    auto const whole =
        gas::normalised(gas::expanded(composition->second.second, gas::default_characterisation()));
    GW_TRY(auto const properties, gas::iso6976(whole, {}));
    auto const& cv = properties.real.gross_cv_volume;
    return Measured{1e6 * cv.value, 1e6 * cv.u};
}

Result<OutageStream> stream_of(SumInputs const& in) {
    OutageStream out;
    out.name = in.name.empty() ? "stream" : in.name;
    out.flow = in.of("flow");
    GW_TRY(auto const fallback, calorific_value(in, "fallback_cv", "fallback"));
    out.fallback_cv = fallback.value;  // it is in force as it stands, without uncertainty
    GW_TRY(out.expected_cv, calorific_value(in, "expected_cv", "expected"));
    return out;
}

Result<Sum> outage_sum(SumInputs const& in) {
    std::vector<OutageStep> steps;
    if (auto const list = in.lists.find("steps"); list != in.lists.end())
        for (auto const& one : list->second) steps.push_back({one.name, one.of("time")});
    if (auto const time = in.optional("time")) {
        if (!steps.empty())
            return fail(Errc::bad_input, "The time is stated twice.", "--time", "keep one");
        steps.push_back({"outage", *time});
    }
    std::vector<OutageStream> streams;
    if (auto const list = in.lists.find("streams"); list != in.lists.end())
        for (auto const& one : list->second) {
            GW_TRY(auto stream, stream_of(one));
            streams.push_back(std::move(stream));
        }
    if (in.has("flow")) {
        GW_TRY(auto stream, stream_of(in));
        streams.push_back(std::move(stream));
    } else if (in.has("fallback_cv") || in.has("expected_cv") || !in.gases.empty()) {
        return fail(Errc::bad_input, "The flow of the stream is missing.", "flow", "add it");
    }
    GW_TRY(auto const answer, outage(steps, streams));
    Sum out;
    constexpr double mwh = 3.6e9;
    out.add("time", "it takes", answer.time, Dimension::time, "h");
    for (std::size_t i = 0; i < answer.streams.size(); ++i) {
        auto const& s = answer.streams[i];
        auto const energy = [&](char const* what, char const* title, Measured joule) {
            out.add(fmt::format("{}_{}", what, i + 1),
                    fmt::format("{}: {}", s.name, title),
                    {joule.value / mwh, joule.u / mwh},
                    Dimension::number,
                    "MWh");
        };
        energy("energy", "energy billed meanwhile", {s.energy, 0});
        out.results.back().exact = true;
        out.add(fmt::format("error_percent_{}", i + 1),
                fmt::format("{}: fallback less expected calorific value", s.name),
                s.percent,
                Dimension::number,
                "%");
        energy("energy_error", "error of the energy", s.energy_error);
        if (auto const limit = in.optional("limit"))
            out.judge(fmt::format("fallback_error:{}", s.name),
                      fmt::format("Fallback of {}", s.name),
                      s.percent,
                      "%",
                      -100 * limit->value,
                      100 * limit->value,
                      "stated with the sum");
    }
    if (answer.streams.size() > 1)
        out.add("energy_error",
                "all streams",
                {answer.total_error.value / mwh, answer.total_error.u / mwh},
                Dimension::number,
                "MWh");
    return out;
}

constexpr SumField life_fields[] = {
    {"time", "how long it ran", Dimension::time, "d", true},
    {"failed", "1: it failed; 0: still running, or taken out"},
};
constexpr SumField spares_fields[] = {
    {"units", "modules in service"},
    {"mtbf", "mean time between failures of one", Dimension::time, "years"},
    {"lead_time", "until a spare is replaced", Dimension::time, "weeks"},
    {"service", "chance that a spare is there (default 95 %)", Dimension::fraction, "%"},
    {"lives",
     "of a file: [{\"time\", \"failed\"}]",
     Dimension::number,
     "1",
     false,
     Form::list,
     life_fields},
};

Result<Sum> spares(SumInputs const& in) {
    Sum out;
    double mtbf = in.of("mtbf").value;
    if (auto const list = in.lists.find("lives"); list != in.lists.end()) {
        std::vector<Life> lives;
        for (auto const& one : list->second)
            lives.push_back({one.of("time").value, one.of("failed").value != 0});
        GW_TRY(auto const fit, weibull(lives));
        GW_TRY(auto const steps, survival(lives));
        out.add("weibull_shape",
                "shape: about 1 random, below fitting, above wear",
                {fit.shape, 0},
                Dimension::number,
                "1");
        out.add("weibull_scale", "scale", {fit.scale, 0}, Dimension::time, "d");
        out.add("mean_life", "mean life", {fit.mean, 0}, Dimension::time, "d");
        for (auto& r : out.results) r.exact = true;
        for (std::size_t i = 0; i < steps.size(); ++i)
            out.add(fmt::format("survival_{}", i + 1),
                    fmt::format("still running after {:.5g} d", steps[i].time / day_s),
                    {steps[i].survival, steps[i].u},
                    Dimension::fraction,
                    "1");
        if (!in.has("mtbf")) mtbf = fit.mean;
    }
    if (in.has("units") || in.has("lead_time")) {
        GW_TRY(auto const stock,
               spare_stock(in.of("units").value,
                           mtbf,
                           in.of("lead_time").value,
                           in.of("service", 0.95).value));
        out.add("demand",
                "failures expected in the lead time",
                {stock.demand, 0},
                Dimension::number,
                "1");
        out.add("stock",
                "spares to hold",
                {static_cast<double>(stock.stock), 0},
                Dimension::number,
                "1");
        out.add("served", "chance that they suffice", {stock.served, 0}, Dimension::fraction, "%");
        for (auto i = out.results.end() - 3; i != out.results.end(); ++i) i->exact = true;
    } else if (out.results.empty()) {
        return fail(Errc::bad_input,
                    "Nothing is asked.",
                    "--units",
                    "give units, mtbf and lead time, or a file with lives");
    }
    return out;
}

constexpr SumKind kinds[] = {
    {"outage",
     "How long an analyser is away, and what its fallback does to the energy",
     "time = sum of the steps; error = V (Hv_fallback - Hv_expected) of each stream; Hv of a "
     "composition at 15 degC, 15 degC",
     "definition; ISO 6976:2016; the wandering of the gas from day to day is its uncertainty "
     "(common practice, no "
     "source)",
     "gaswright bench outage --time \"6 +- 1 h\" --flow 50000m3/h --fallback-cv 39.5 --expected-cv "
     "\"39.4 +- 0.1 MJ/m3\" --limit 0.5%",
     "Freeze composition and calorific value together, with owner and end, and tell billing.",
     outage_fields,
     outage_sum},
    {"spares",
     "Spare modules to hold, and what lives so far say",
     "least s with P(X <= s) >= service, X Poisson with mean units x lead time / MTBF; lives: "
     "Kaplan-Meier with Greenwood, Weibull by maximum likelihood with lives not ended",
     "Kaplan and Meier 1958; NIST/SEMATECH e-Handbook 8.4.1.3; stock: common practice, no source",
     "gaswright bench spares --units 60 --mtbf 6years --lead-time 20weeks --service 95%",
     "",
     spares_fields,
     spares},
};

}  // namespace

std::span<SumKind const> plan_sums() { return kinds; }

}  // namespace gw::bench
