#pragma once
/// A finding: a number held against limits by a stated rule, with the source of the limit.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"

namespace gw::metrology {

enum class Verdict { meets, fails, unclear, not_yet, missing, not_applicable, no_limit };
std::string_view name(Verdict verdict);

/// guarded: U = k u decides (JCGM 106, guarded acceptance and guarded rejection); simple: the value
/// alone.
enum class Rule { guarded, simple };
std::string_view name(Rule rule);

/// A limit of a criteria set.
struct Criterion {
    std::optional<double> low, high;  ///< in `unit`; none: that side is open
    std::string unit;
    Rule rule = Rule::guarded;
    double k = 2;  ///< coverage factor at infinite degrees of freedom
    bool required = true;
    std::string source;  ///< standard and clause, or "common practice, no source"
    /// A value that meets but departs further than this is worth a word. With both limits: distance
    /// from their middle (so |value| for limits about zero); with one limit: a level on its side.
    std::optional<double> warn;
    std::string note;  ///< for people: why this limit, and why it does or does not stop a signature
};

struct Finding {
    std::string id, title;
    std::optional<double> value, u;  ///< u: standard uncertainty, same unit
    std::string unit;
    std::optional<double> low, high;
    Rule rule = Rule::guarded;
    double k = 2;  ///< the coverage factor actually used (t-based for small n)
    std::string limit_source;
    Verdict verdict = Verdict::missing;
    bool required = false;
    std::string basis;  ///< "", "as_found" or "as_left"
    bool provisional = false;
    std::string gas, stream;          ///< "" when it does not apply
    std::optional<int> n;             ///< number of runs behind the value
    std::vector<std::string> inputs;  ///< SHA-256 of what it was computed from
    std::string note;                 ///< one sentence for people: why missing, what stands out
};

/// Fills limits, rule, k, unit, required and verdict of `finding` from `criterion` (none: limits,
/// required and rule stay as they are). degrees_of_freedom: of u; 0 or infinite means "well known".
/// With fewer, k grows to Student's t at the same coverage (95.45 % for k = 2). A finding without
/// value stays `missing`, `not_yet` or `not_applicable` as it came; without limit it is `no_limit`.
/// Guarded: meets when [value - U, value + U] lies inside [low, high], edges included; fails when
/// it lies wholly outside one limit; else unclear. Simple: value inside, edges included, or not.
/// Guarded without u: conformity cannot be shown, so inside is `unclear`; outside `fails`; the note
/// says so. A limit in another unit than the value is never applied: `unclear`, and the note says
/// so.
void judge(Finding& finding, Criterion const* criterion, double degrees_of_freedom = 0);

/// Of the required findings: fails before missing (and not_yet) before unclear before meets.
/// not_applicable and no_limit are passed over. With no required finding left: missing.
Verdict overall(std::vector<Finding> const& findings);

/// The contract's JSON of one finding: value, u, low and high are null when absent; basis,
/// provisional, gas, stream, n and note are left out when they do not apply.
Json finding_json(Finding const& finding);
/// {"findings": [...], "verdict"}: what every judging command prints.
Json findings_json(std::vector<Finding> const& findings);

/// "0.12 ± 0.04 %" or "no value": the value with its expanded uncertainty and unit, for tables.
std::string value_text(Finding const& finding);
/// "-0.1 to 0.1 %", "at most 3 %": the limits for tables.
std::string limit_text(Finding const& finding);
/// One line per finding (verdict, title, value with U, limit, source of the limit), its note below
/// it; a star marks what is required. Every command prints findings through this one function.
std::string findings_table(std::vector<Finding> const& findings);

}  // namespace gw::metrology
