#pragma once
/// A plan: the stages and steps of one kind of visit, as data. Order that matters is in it.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"

namespace gw::visit {

/// safety: evidenced, recorded as not done, or passed by a second named person; never shown as done
/// by an override. measurement: may be overridden with a reason. note: holds nothing up.
enum class StepClass { safety, measurement, note };
std::string_view name(StepClass step_class);

/// What evidence a step asks for. Any step takes words as well; they are then shown as words.
enum class Wants { words, reading, run, file, clock, time };
std::string_view name(Wants wants);

struct Step {
    std::string name;  ///< once in a plan
    std::string what, why, caution;
    StepClass step_class = StepClass::note;
    std::vector<std::string> who;  ///< roles; empty: anybody
    Wants wants = Wants::words;
    std::string unit;                 ///< of a reading
    std::optional<double> low, high;  ///< of a reading, in `unit`: outside, the step stays open
    std::string limit_source;         ///< always there when a limit is
    std::string role;                 ///< of a file: what it is to the findings ("method", ...)
    std::string gas, basis;           ///< of a run: "calibration", "as_found"
    std::string feeds;                ///< id of the finding that its evidence makes
    std::vector<std::string> after;   ///< steps that must be settled before this one can be
    std::string second_person_of;     ///< counts only from another person than gave that evidence
    double minutes{};                 ///< usual length
    bool every_time = false;          ///< again after every interruption
    std::string source;               ///< of an order or a rule: "common practice, no source"
};

struct Stage {
    std::string name, title, establishes;
    bool opens = false;  ///< from here on the analyser is not as it was: leaving needs a safe end
    std::vector<Step> steps;
};

struct Plan {
    std::string name, title, summary;
    int version = 1;
    std::vector<std::string> cautions;  ///< the first ones first; they stand at the head of a visit
    std::vector<Stage> stages;
    std::vector<Stage> ways_back;  ///< entered by choice, from any stage
    std::string hash;              ///< SHA-256 of its file

    [[nodiscard]] Step const* find(std::string_view step) const;
    [[nodiscard]] Stage const* stage_of(std::string_view step) const;
};

/// Strict: refuses a field it does not know, a name used twice, a step after one that does not come
/// before it, a limit without source, a class or a kind of evidence it does not know.
Result<Plan> read_plan(Field const& root);
/// The bytes of a plan's file.
Result<Plan> read_plan(std::string const& text, std::string const& source);

/// Plans shipped with the program, by name; the text is what a visit keeps as evidence.
std::vector<std::string> shipped_plans();
Result<std::string> shipped_plan_text(std::string_view name);

/// "as-found", "As_Found" and "as found" are one name.
std::string plain_name(std::string_view name);

}  // namespace gw::visit
