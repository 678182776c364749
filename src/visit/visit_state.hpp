#pragma once
/// Where a visit stands: a pure fold of its journal entries over its plan. Nothing else remembers
/// anything, so it is the same on every device and after every crash.
#include <cstdint>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "visit/entry.hpp"
#include "visit/plan.hpp"

namespace gw::visit {

enum class StepState {
    open,
    done,        ///< evidence of it is there
    overridden,  ///< a measurement hold passed with a reason
    passed,      ///< a safety hold passed by a second named person; never "done"
    not_done,
    not_obtainable,
    not_applicable
};
std::string_view name(StepState state);

enum class Standing { current, superseded, withdrawn, expired, aside };
std::string_view name(Standing standing);

/// The clock of the device that keeps the record, as the plans call it.
inline constexpr std::string_view device_clock = "laptop";

/// One piece of evidence as it was recorded.
struct Evidence {
    std::int64_t entry{};
    std::string recorded, at, by;  ///< when written down, when it was so, and who says so
    std::string clock;    ///< whose clock gave `at`: "analyser", "laptop"; "" when a person did
    std::string trusted;  ///< `at` less what that clock was off; "" when it was not compared
    std::string value;    ///< as typed
    std::optional<double> number, u;
    std::string unit;
    bool unit_assumed = false;
    std::string file, sha256, with, stream, text;
    Wants kind = Wants::words;
    bool in_words = false;  ///< words where the plan asks for more
    bool outside = false;   ///< a reading outside the step's limits
    bool late = false;      ///< written down well after it was so
    Standing standing = Standing::current;
    std::vector<std::string> marks;  ///< plain words on what is unusual about it
};

struct StepView {
    Step const* step = nullptr;
    StepState state = StepState::open;
    std::string reason, by, second, permit;  ///< of a state other than done
    std::vector<Evidence> evidence;          ///< in the order recorded, withdrawn ones too
    std::vector<std::string> waits_for;      ///< steps of `after` that are not settled
    [[nodiscard]] bool settled() const { return state != StepState::open; }
    /// Whether a later step may build on it: a safety hold that was not done carries nothing.
    [[nodiscard]] bool carries() const;
    [[nodiscard]] Evidence const* current() const;  ///< the newest that stands
};

struct StageView {
    Stage const* stage = nullptr;
    std::vector<StepView> steps;
    bool way_back = false, entered = false;
    [[nodiscard]] StepState state() const;  ///< open, done, overridden, not_done or not_applicable
};

struct ClockOffset {
    std::string clock;
    double offset_s{};  ///< indicated minus trusted time
};

struct VisitState {
    std::string visit, analyser, title, opened, site;
    Json judging =
        Json::object();  ///< "criteria", "standard", "combustion_c", ...: how findings are made
    std::shared_ptr<Plan const> plan;
    std::string state = "open";  ///< as in the register
    std::string end_at, end_reason, until, owner;
    std::string interrupted_because;
    std::vector<StageView> stages;  ///< those of the plan, then the ways back that were taken
    std::vector<std::pair<std::string, std::string>> ways_taken;  ///< name, reason
    std::vector<ClockOffset> clocks;
    std::string permit_end;
    std::vector<Evidence> notes;  ///< of no step
    std::int64_t last{};          ///< its last entry
    std::vector<std::int64_t> undone;

    [[nodiscard]] bool ended() const { return state != "open" && state != "interrupted"; }
    [[nodiscard]] StepView const* find(std::string_view step) const;
    [[nodiscard]] StageView const* stage(std::string_view name) const;
    /// The first open step whose way is free; none when nothing is left.
    [[nodiscard]] StepView const* now() const;
    /// Usual minutes of what is still open.
    [[nodiscard]] double minutes_needed() const;
};

/// `plan`: the plan that the visit's first entry names. Entries in order, all of one visit. An
/// entry that this program does not understand changes nothing.
Result<VisitState> visit_state(Plan plan, std::vector<Entry> const& entries);

/// The SHA-256 of the plan that the first entry names.
Result<std::string> plan_hash_of(std::vector<Entry> const& entries);

}  // namespace gw::visit
