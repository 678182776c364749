#pragma once
/// A finding: a number held against limits by a stated rule, with the source of the limit.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"

namespace gw::metrology {

enum class Verdict { meets, fails, unclear, not_yet, missing, not_applicable, no_limit };
std::string_view name(Verdict verdict);

/// guarded: U = k u decides (JCGM 106, guarded acceptance and guarded rejection); simple: the value alone.
enum class Rule { guarded, simple };
std::string_view name(Rule rule);

/// A limit of a criteria set.
struct Criterion {
    std::optional<double> low, high;  ///< in `unit`; none: that side is open
    std::string unit;
    Rule rule = Rule::guarded;
    double k = 2;           ///< coverage factor at infinite degrees of freedom
    bool required = true;
    std::string source;     ///< standard and clause, or "common practice, no source"
    std::optional<double> warn;  ///< |value| beyond this is worth a word although it meets
};

struct Finding {
    std::string id, title;
    std::optional<double> value, u;  ///< u: standard uncertainty, same unit
    std::string unit;
    std::optional<double> low, high;
    Rule rule = Rule::guarded;
    double k = 2;                    ///< the coverage factor actually used (t-based for small n)
    std::string limit_source;
    Verdict verdict = Verdict::missing;
    bool required = false;
    std::string basis;               ///< "", "as_found" or "as_left"
    bool provisional = false;
    std::string gas, stream;         ///< "" when it does not apply
    std::optional<int> n;            ///< number of runs behind the value
    std::vector<std::string> inputs; ///< SHA-256 of what it was computed from
    std::string note;                ///< one sentence for people: why missing, what stands out
};

/// Fills limits, rule, k, unit and verdict of `finding` from `criterion`. degrees_of_freedom: of u;
/// 0 or infinite means "well known". With fewer, k grows to Student's t at the same coverage
/// (95.45 % for k = 2). A finding without value stays `missing`; without limit it is `no_limit`.
/// Guarded: meets when [value - U, value + U] lies inside [low, high]; fails when it lies wholly outside
/// one limit; else unclear. Simple: value inside or not.
void judge(Finding& finding, Criterion const* criterion, double degrees_of_freedom = 0);

/// Of the required findings: fails before missing (and not_yet) before unclear before meets. With no
/// required finding at all: missing.
Verdict overall(std::vector<Finding> const& findings);

/// The contract's JSON of one finding; absent fields are left out, value and u are null when missing.
Json finding_json(Finding const& finding);

/// "0.12 ± 0.04 %" or "no value": the value with its expanded uncertainty and unit, for tables.
std::string value_text(Finding const& finding);
/// "-0.1 to 0.1 %", "at most 3 %": the limits for tables.
std::string limit_text(Finding const& finding);

}  // namespace gw::metrology
