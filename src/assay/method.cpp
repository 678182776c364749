#include "assay/method.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace gw::assay {

ExpectedPeak const* Method::find(gas::Component component) const {
    auto const at = std::find_if(peaks.begin(), peaks.end(), [&](ExpectedPeak const& p) {
        return p.component == component;
    });
    return at == peaks.end() ? nullptr : &*at;
}

ExpectedPeak const* Method::peak_of(gas::Component component) const {
    if (auto const* own = find(component)) return own;
    for (auto const& p : peaks)
        if (std::find(p.includes.begin(), p.includes.end(), component) != p.includes.end())
            return &p;
    return gas::belongs_to_c6_plus(component) ? find(gas::c6_plus) : nullptr;
}

int Method::detectors() const {
    int highest = 1;
    for (auto const& p : peaks) highest = std::max(highest, p.detector);
    return highest;
}

bool Method::is_fixed(gas::Component component) const {
    return std::any_of(
        fixed.begin(), fixed.end(), [&](auto const& f) { return f.first == component; });
}

namespace {

Result<gas::Component> component_of(Field const& field) {
    GW_TRY(auto const name, field.text());
    return gas::require_component(name, field.where());
}

Result<FactorFrom> read_factor_from(Field const& field) {
    GW_TRY(auto const at, field.at("component"));
    FactorFrom out;
    GW_TRY(out.component, component_of(at));
    GW_TRY(out.ratio, field.number("ratio"));
    GW_TRY(out.u, field.number_or("u", 0));
    if (!(out.ratio > 0))
        return field.wrong("The ratio of factors must be positive.", "correct it");
    if (out.u < 0) return field.wrong("An uncertainty cannot be negative.", "correct it");
    return out;
}

Result<ExpectedPeak> read_peak(Field const& field, double cycle_s) {
    ExpectedPeak peak;
    GW_TRY(auto const component, field.at("component"));
    GW_TRY(peak.component, component_of(component));
    GW_TRY(auto const retention, field.at("retention_s"));
    GW_TRY(peak.retention_s, retention.number_within(0, cycle_s));
    GW_TRY(auto const window, field.at("window_s"));
    GW_TRY(peak.window_s, window.number_within(0, cycle_s));
    if (!(peak.window_s > 0))
        return window.wrong("The window must be wider than zero.",
                            "give its half width in seconds");
    GW_TRY(double const detector, field.number_or("detector", 1));
    if (detector != static_cast<int>(detector) || detector < 1 || detector > 16)
        return field.wrong("The detector is a whole number from 1 to 16.", "correct it");
    peak.detector = static_cast<int>(detector);
    if (auto const includes = field.find("includes")) {
        GW_TRY(auto const items, includes->items());
        for (auto const& item : items) {
            GW_TRY(auto const included, component_of(item));
            peak.includes.push_back(included);
        }
    }
    if (auto const from = field.find("factor_from")) {
        GW_TRY(peak.factor_from, read_factor_from(*from));
    }
    return peak;
}

// Components of the twin that are reported under another peak's name elute in that peak.
Result<> read_reported_as(Field const& oven, Method& method) {
    auto const components = oven.find("components");
    if (!components) return {};
    GW_TRY(auto const items, components->items());
    for (auto const& item : items) {
        auto const reported = item.find("reported_as");
        if (!reported) continue;
        GW_TRY(auto const name, item.at("component"));
        GW_TRY(auto const component, component_of(name));
        GW_TRY(auto const as, component_of(*reported));
        if (as == component || method.find(component) != nullptr) continue;
        auto const peak = std::find_if(method.peaks.begin(),
                                       method.peaks.end(),
                                       [&](auto const& p) { return p.component == as; });
        if (peak == method.peaks.end())
            return reported->wrong(
                fmt::format("No peak of the method is called {}.", gas::name(as)),
                "add the peak or correct the name");
        if (std::find(peak->includes.begin(), peak->includes.end(), component) ==
            peak->includes.end())
            peak->includes.push_back(component);
    }
    return {};
}

Result<> read_ranges(Field const& oven, Method& method) {
    auto const chains = oven.find("chains");
    if (!chains) return {};
    GW_TRY(auto const items, chains->items());
    for (auto const& chain : items) {
        auto const detector = chain.find("detector");
        auto const range = detector ? detector->find("range_mV") : std::nullopt;
        if (!range) continue;
        GW_TRY(auto const ends, range->items());
        if (ends.size() != 2) return range->wrong("A range has two ends.", "write [low, high]");
        GW_TRY(double const low, ends[0].number());
        GW_TRY(double const high, ends[1].number());
        if (!(low < high))
            return range->wrong("The low end must lie below the high end.", "correct it");
        method.range_low = std::min(low, method.range_low.value_or(low));
        method.range_high = std::max(high, method.range_high.value_or(high));
    }
    return {};
}

Result<> refuse_doubles(Field const& root, Method const& method) {
    std::vector<gas::Component> seen;
    auto const twice = [&](gas::Component c) {
        if (std::find(seen.begin(), seen.end(), c) != seen.end()) return true;
        seen.push_back(c);
        return false;
    };
    for (auto const& p : method.peaks) {
        if (twice(p.component))
            return root.wrong(fmt::format("{} has two peaks.", gas::name(p.component)), "keep one");
    }
    for (auto const& p : method.peaks)
        for (auto const c : p.includes)
            if (c != p.component && twice(c))
                return root.wrong(fmt::format("{} is counted in two peaks.", gas::name(c)),
                                  "let one peak include it");
    return {};
}

}  // namespace

Result<Method> read_method(Field const& root) {
    GW_CHECK(require_schema(root, "method"));
    Method method;
    GW_TRY(method.name, root.text_or("name", "unnamed"));
    GW_TRY(auto const cycle, root.at("cycle_s"));
    GW_TRY(method.cycle_s, cycle.number_within(1, 86400));
    GW_TRY(method.sample_rate_hz, root.number_or("sample_rate_hz", 0));
    GW_TRY(auto const peaks, root.at("peaks"));
    GW_TRY(auto const items, peaks.items());
    if (items.empty()) return peaks.wrong("A method needs at least one peak.", "add it");
    for (auto const& item : items) {
        GW_TRY(auto const peak, read_peak(item, method.cycle_s));
        method.peaks.push_back(peak);
    }
    if (auto const fixed = root.find("fixed")) {
        GW_TRY(auto const members, fixed->members());
        for (auto const& [name, field] : members) {
            GW_TRY(auto const component, gas::require_component(name, field.where()));
            GW_TRY(double const x, field.number_within(0, 0.5));
            if (method.find(component) != nullptr)
                return field.wrong("This component has a peak: it is measured, not fixed.",
                                   "remove one of the two");
            method.fixed.emplace_back(component, x);
        }
    }
    if (auto const closure = root.find("closure")) {
        GW_TRY(auto const text, closure->text());
        if (text == "methane by difference") {
            method.closure = Closure::methane_by_difference;
        } else if (text != "normalise") {
            return closure->wrong(
                fmt::format("\"{}\" is no way to close a composition.", text.substr(0, 40)),
                "write \"normalise\" or \"methane by difference\"");
        }
    }
    if (auto const programme = root.find("valve_programme")) {
        GW_TRY(auto const events, programme->items());
        for (auto const& event : events) {
            trace::SignalEvent out;
            GW_TRY(auto const at, event.at("at_s"));
            GW_TRY(out.at_s, at.number_within(0, method.cycle_s));
            GW_TRY(out.action, event.text("action"));
            if (!method.valve_programme.empty() && out.at_s < method.valve_programme.back().at_s)
                return at.wrong("Events must stand in order of time.", "sort them");
            method.valve_programme.push_back(out);
        }
    }
    GW_TRY(method.time_step_s, root.optional_number("time_step_s"));
    if (auto const window = root.find("noise_window_s")) {
        GW_TRY(auto const ends, window->items());
        if (ends.size() != 2)
            return window->wrong("A window has two ends.", "write [from, to] in seconds");
        GW_TRY(double const from, ends[0].number_within(0, method.cycle_s));
        GW_TRY(double const to, ends[1].number_within(0, method.cycle_s));
        if (!(from < to))
            return window->wrong("The window must end after it starts.", "correct it");
        method.noise_window_s = {from, to};
    }
    if (auto const characterisation = root.find("characterisation")) {
        GW_TRY(method.characterisation, gas::read_characterisation(*characterisation));
        method.characterisation.origin = "method";
    }
    if (auto const oven = root.find("oven")) {
        GW_CHECK(read_reported_as(*oven, method));
        GW_CHECK(read_ranges(*oven, method));
    }
    GW_CHECK(refuse_doubles(root, method));
    return method;
}

}  // namespace gw::assay
