#include "visit/typed_value.hpp"

#include <fmt/format.h>

#include "base/text.hpp"
#include "visit/clocks.hpp"
#include "visit/unit.hpp"

namespace gw::visit {

namespace {

// "0.5 %LEL" typed as one value.
void split_unit(std::string& value, std::optional<std::string>& unit) {
    auto const blank = value.find(' ');
    if (unit || blank == std::string::npos) return;
    auto const rest = std::string(trimmed(value.substr(blank)));
    if (parse_number(value.substr(0, blank)) && is_known_unit(rest)) {
        unit = rest;
        value.resize(blank);
    }
}

}  // namespace

Result<> read_typed_value(VisitState const& visit,
                          Step const& step,
                          AddRequest const& request,
                          Act const& act,
                          Json& body) {
    auto value = *request.value;
    auto unit = request.unit;
    if (trimmed(value).empty())
        return fail(Errc::bad_input, "The value is empty.", "--value", "say what was seen");
    split_unit(value, unit);
    auto const number = parse_number(value);
    body["value"] = value;
    body["kind"] = "words";
    if (number) body["number"] = *number;
    if (request.u) {
        if (!number || !(*request.u >= 0))
            return fail(Errc::bad_input,
                        "An uncertainty belongs to a number and is not negative.",
                        "--u",
                        "correct it");
        body["u"] = *request.u;
    }
    if (unit) body["unit"] = *unit;
    if (step.wants == Wants::time) {
        if (parse_instant(value, "--value")) body["kind"] = "time";
        return {};
    }
    if (step.wants == Wants::clock) {
        // Either the offset, or what the clock shows at the time of --at.
        if (auto const shown = parse_instant(value, "--value")) {
            if (!act.at && plain_name(step.name).ends_with(device_clock))
                return fail(Errc::bad_input,
                            "This device cannot compare its clock with itself.",
                            "--at",
                            "give the trusted time with --at, or the offset in seconds");
            auto const trusted = act.at
                                     ? act.at->milliseconds
                                     : act.now.milliseconds - clock_offset_ms(visit, device_clock);
            body["number"] = static_cast<double>(shown->milliseconds - trusted) / 1000;
        } else if (number) {
            auto const seconds = converted_difference(*number, unit.value_or("s"), "s");
            if (!seconds)
                return fail(Errc::bad_input,
                            fmt::format("\"{}\" is no unit of time.", *unit),
                            "--unit",
                            "give s, min or h");
            body["number"] = *seconds;
        } else {
            return {};
        }
        body["unit"] = "s";
        body["kind"] = "clock";
        return {};
    }
    if (step.wants != Wants::reading || !number) return {};
    body["kind"] = "reading";
    if (!unit) {
        if (step.step_class == StepClass::safety && (step.low || step.high))
            return fail(Errc::bad_input,
                        "A reading for a safety step needs its unit.",
                        "--unit",
                        fmt::format("give {}", joined(units_like(step.unit), ", ")));
        body["unit"] = step.unit;
        body["unit_assumed"] = true;
    } else if (!converted(*number, *unit, step.unit)) {
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no unit for \"{}\".", unit->substr(0, 40), step.name),
                    "--unit",
                    fmt::format("give {}", joined(units_like(step.unit), ", ")));
    }
    return {};
}

}  // namespace gw::visit
