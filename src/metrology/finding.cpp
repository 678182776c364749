#include "metrology/finding.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

/// "%", "percent" and "Percent" are one unit; so are "mol%" and "mol %".
std::string plain_unit(std::string_view unit) {
    auto text = lowered(unit);
    std::erase(text, ' ');
    if (text == "percent") return "%";
    if (text == "molpercent") return "mol%";
    return text;
}

void add_note(Finding& finding, std::string_view sentence) {
    if (!finding.note.empty()) finding.note += ' ';
    finding.note += sentence;
}

bool departs_beyond_warning(Criterion const& limit, double value) {
    if (!limit.warn) return false;
    if (limit.low && limit.high)
        return std::abs(value - 0.5 * (*limit.low + *limit.high)) > *limit.warn;
    return limit.high ? value > *limit.warn : value < *limit.warn;
}

Verdict guarded_verdict(Finding const& f, double U) {
    double const from = *f.value - U, to = *f.value + U;
    if ((f.high && from > *f.high) || (f.low && to < *f.low)) return Verdict::fails;
    if ((!f.low || from >= *f.low) && (!f.high || to <= *f.high)) return Verdict::meets;
    return Verdict::unclear;
}

/// Digits after the point that show two figures of U (GUM 7.2.6).
int decimals_for(double U) {
    int const decimals = 1 - static_cast<int>(std::floor(std::log10(U)));
    return std::clamp(decimals, 0, 9);
}

std::size_t width(std::string_view text) {  // in characters, not bytes
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    }));
}

std::string heading(Finding const& f) {
    std::string text = f.title.empty() ? f.id : f.title;
    std::vector<std::string> about;
    if (!f.gas.empty()) about.push_back(f.gas);
    if (!f.stream.empty()) about.push_back("stream " + f.stream);
    if (f.basis == "as_found") about.emplace_back("as found");
    if (f.basis == "as_left") about.emplace_back("as left");
    if (f.provisional) about.emplace_back("provisional");
    if (!about.empty()) text += " (" + joined(about, ", ") + ")";
    return text;
}

}  // namespace

std::string_view name(Verdict verdict) {
    switch (verdict) {
        case Verdict::meets:
            return "meets";
        case Verdict::fails:
            return "fails";
        case Verdict::unclear:
            return "unclear";
        case Verdict::not_yet:
            return "not_yet";
        case Verdict::missing:
            return "missing";
        case Verdict::not_applicable:
            return "not_applicable";
        case Verdict::no_limit:
            return "no_limit";
    }
    return "missing";
}

std::string_view name(Rule rule) {
    switch (rule) {
        case Rule::guarded:
            return "guarded";
        case Rule::simple:
            return "simple";
    }
    return "guarded";
}

void judge(Finding& finding, Criterion const* criterion, double degrees_of_freedom) {
    if (finding.u && !(*finding.u >= 0 && std::isfinite(*finding.u))) finding.u.reset();
    if (finding.value && !std::isfinite(*finding.value)) {
        finding.value.reset();
        finding.u.reset();
        add_note(finding, "The value could not be computed.");
    }
    finding.k = coverage_factor(criterion ? criterion->k : 2.0, degrees_of_freedom);
    if (criterion) {
        finding.low = criterion->low;
        finding.high = criterion->high;
        finding.rule = criterion->rule;
        finding.required = criterion->required;
        finding.limit_source = criterion->source;
        if (finding.unit.empty()) finding.unit = criterion->unit;
    }
    if (!finding.value) {
        if (finding.verdict != Verdict::not_yet && finding.verdict != Verdict::not_applicable)
            finding.verdict = Verdict::missing;
        return;
    }
    if (!criterion || (!criterion->low && !criterion->high)) {
        finding.verdict = Verdict::no_limit;
        return;
    }
    if (!criterion->unit.empty() && plain_unit(criterion->unit) != plain_unit(finding.unit)) {
        finding.verdict = Verdict::unclear;
        add_note(finding,
                 fmt::format("The limit is in {} but the value in {}: not compared.",
                             criterion->unit,
                             finding.unit));
        return;
    }
    if (finding.rule == Rule::simple) {
        finding.verdict = guarded_verdict(finding, 0.0);
    } else if (finding.u) {
        finding.verdict = guarded_verdict(finding, finding.k * *finding.u);
    } else {
        bool const inside = guarded_verdict(finding, 0.0) == Verdict::meets;
        finding.verdict = inside ? Verdict::unclear : Verdict::fails;
        add_note(finding,
                 inside ? "The uncertainty is not known, so that conformity cannot be shown."
                        : "The value is outside its limit; its uncertainty is not known.");
    }
    if (finding.verdict == Verdict::meets && departs_beyond_warning(*criterion, *finding.value))
        add_note(
            finding,
            fmt::format("Inside the limit, but beyond the warning level {}.", *criterion->warn));
}

Verdict overall(std::vector<Finding> const& findings) {
    bool fails = false, missing = false, unclear = false, meets = false;
    for (auto const& finding : findings) {
        if (!finding.required) continue;
        switch (finding.verdict) {
            case Verdict::fails:
                fails = true;
                break;
            case Verdict::missing:
            case Verdict::not_yet:
                missing = true;
                break;
            case Verdict::unclear:
                unclear = true;
                break;
            case Verdict::meets:
                meets = true;
                break;
            case Verdict::not_applicable:
            case Verdict::no_limit:
                break;
        }
    }
    if (fails) return Verdict::fails;
    if (missing) return Verdict::missing;
    if (unclear) return Verdict::unclear;
    return meets ? Verdict::meets : Verdict::missing;
}

Json finding_json(Finding const& f) {
    auto const or_null = [](std::optional<double> const& x) {
        return x ? Json(*x) : Json(nullptr);
    };
    Json out{{"id", f.id},
             {"title", f.title},
             {"value", or_null(f.value)},
             {"u", or_null(f.u)},
             {"unit", f.unit},
             {"low", or_null(f.low)},
             {"high", or_null(f.high)},
             {"rule", std::string(name(f.rule))},
             {"k", f.k},
             {"limit_source", f.limit_source},
             {"verdict", std::string(name(f.verdict))},
             {"required", f.required}};
    if (!f.basis.empty()) out["basis"] = f.basis;
    if (f.provisional) out["provisional"] = true;
    if (!f.gas.empty()) out["gas"] = f.gas;
    if (!f.stream.empty()) out["stream"] = f.stream;
    if (f.n) out["n"] = *f.n;
    out["inputs"] = f.inputs;
    if (!f.note.empty()) out["note"] = f.note;
    return out;
}

Json findings_json(std::vector<Finding> const& findings) {
    auto list = Json::array();
    for (auto const& finding : findings) list.push_back(finding_json(finding));
    return Json{{"findings", std::move(list)}, {"verdict", std::string(name(overall(findings)))}};
}

namespace {

// Four figures, or as many as keep the value on its side of its limits.
std::string figures(double value,
                    std::optional<double> const& low,
                    std::optional<double> const& high) {
    for (int const digits : {4, 6, 9, 15}) {
        auto const text = fmt::format("{:.{}g}", value, digits);
        double const printed = std::strtod(text.c_str(), nullptr);
        bool const same_side =
            (!low || ((printed < *low) == (value < *low) && (printed > *low) == (value > *low))) &&
            (!high ||
             ((printed < *high) == (value < *high) && (printed > *high) == (value > *high)));
        if (same_side) return text;
    }
    return fmt::format("{}", value);
}

}  // namespace

std::string value_text(Finding const& f) {
    if (!f.value) return "no value";
    double const U = f.u ? f.k * *f.u : 0.0;
    auto const number =
        U > 0 && std::isfinite(U)
            ? fmt::format("{} ± {}", fixed(*f.value, decimals_for(U)), fixed(U, decimals_for(U)))
            : figures(*f.value, f.low, f.high);
    return f.unit.empty() ? number : fmt::format("{} {}", number, f.unit);
}

std::string limit_text(Finding const& f) {
    std::string text = "no limit";
    if (f.low && f.high)
        text = fmt::format("{:.6g} to {:.6g}", *f.low, *f.high);
    else if (f.high)
        text = fmt::format("at most {:.6g}", *f.high);
    else if (f.low)
        text = fmt::format("at least {:.6g}", *f.low);
    else
        return text;
    return f.unit.empty() ? text : fmt::format("{} {}", text, f.unit);
}

std::string findings_table(std::vector<Finding> const& findings) {
    struct Line {
        std::string verdict, title, value, limit;
    };
    std::vector<Line> lines;
    std::size_t verdict_width = 0, title_width = 0, value_width = 0, limit_width = 0;
    for (auto const& f : findings) {
        auto verdict = fmt::format("{}{}", name(f.verdict), f.required ? " *" : "");
        lines.push_back({std::move(verdict), heading(f), value_text(f), limit_text(f)});
        auto const& line = lines.back();
        verdict_width = std::max(verdict_width, width(line.verdict));
        title_width = std::max(title_width, width(line.title));
        value_width = std::max(value_width, width(line.value));
        limit_width = std::max(limit_width, width(line.limit));
    }
    auto const padded = [](std::string const& text, std::size_t to) {
        return text + std::string(to - width(text), ' ');
    };
    std::string out;
    bool any_required = false;
    for (std::size_t i = 0; i < findings.size(); ++i) {
        auto const& f = findings[i];
        any_required = any_required || f.required;
        auto line = fmt::format("{}  {}  {}  {}  {}",
                                padded(lines[i].verdict, verdict_width),
                                padded(lines[i].title, title_width),
                                padded(lines[i].value, value_width),
                                padded(lines[i].limit, limit_width),
                                f.limit_source);
        line.erase(line.find_last_not_of(' ') + 1);
        out += line + '\n';
        if (!f.note.empty()) out += std::string(verdict_width + 2, ' ') + f.note + '\n';
    }
    if (any_required) out += "* required: decides the verdict\n";
    return out;
}

}  // namespace gw::metrology
