#pragma once
/// The things a visit meets: sites, analysers, oven modules, cylinders, instruments, ring lots,
/// people. What is known of one is the fold of its entries.
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::visit {

struct ThingKind {
    std::string_view name, title;
    std::array<std::string_view, 3> dates;  ///< fields that hold a day on which something falls due
    std::array<std::string_view, 3> due;    ///< what it is then, in the same order
};
std::vector<ThingKind> const& thing_kinds();
ThingKind const* find_thing_kind(std::string_view name);

/// "analyser:PX-1". Refuses an unknown kind and an id that is empty, too long or holds a colon at
/// its start, blanks around it or control characters.
Result<std::string> thing_subject(std::string_view kind, std::string_view id);

/// What is known after an entry of kind "thing": "set" replaces fields (null takes one away),
/// "reading" is added to the list "readings", "event" to the list "events".
Json thing_after(Json known, Json const& body);

/// The earliest of the dates that this kind of thing carries; "" when it carries none.
std::string next_due(std::string_view kind, Json const& known);

/// What falls due of a thing up to and with a day.
struct Due {
    std::string thing, what;
    Date day;
    std::int64_t days_left{};  ///< from the day asked about; negative: past
};
std::vector<Due> due_of(std::string_view thing,
                        Json const& known,
                        Date on,
                        std::int64_t within_days);

/// Does what a replacement declares cover what the analyser needs? Both are objects of declared
/// capabilities: "streams" (number), "columns", "carrier", "detectors", "supply",
/// "area_classification", "ring_kit", "components" (lists or words).
struct Mismatch {
    std::string capability, needed, offered;
    bool undeclared = false;  ///< the replacement does not say
};
struct Compatibility {
    std::size_t compared{};
    std::vector<Mismatch> mismatches;
};
/// Numbers: offered at least needed. Words: the same, case and blanks aside. Lists: every needed
/// word is offered. A capability that the analyser does not need is passed over.
Compatibility compatibility(Json const& needs, Json const& offers);

}  // namespace gw::visit
