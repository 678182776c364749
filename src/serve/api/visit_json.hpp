#pragma once
/// A visit without its findings: at once after every act, while those are still being made.
#include <nlohmann/json.hpp>

#include "serve/books.hpp"
#include "visit/visit_output.hpp"

namespace gw::serve {

inline Json standing_json(visit::VisitState state, Book book, Instant now) {
    Json ways = Json::array();
    for (auto const& way : state.plan->ways_back)
        ways.push_back(
            Json{{"name", way.name}, {"title", way.title}, {"establishes", way.establishes}});
    auto const because = state.interrupted_because;
    auto out = visit::visit_json({std::move(state), {}, {}, {}, now});
    for (auto const* later : {"findings", "ledger", "may_sign", "warnings"}) out.erase(later);
    out["ways_offered"] = std::move(ways);
    out["interrupted_because"] = because.empty() ? Json(nullptr) : Json(because);
    out["invented"] = book == Book::invented;
    return out;
}

}  // namespace gw::serve
