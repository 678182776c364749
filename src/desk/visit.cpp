// A visit as it is read: its state, and with it what was found.
#include "desk/visit.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/sign.hpp"
#include "desk/visit_findings.hpp"

namespace gw::desk {

namespace {

Result<std::string> full_id(store::Store const& store, std::string const& id) {
    GW_TRY(auto const exact, store.visit(id));
    if (exact) return id;
    GW_TRY(auto const all, store.visits({}));
    std::vector<std::string> found;
    for (auto const& line : all)
        if (!id.empty() && starts_with_ignoring_case(line.visit, id)) found.push_back(line.visit);
    if (found.size() == 1) return found.front();
    return fail(Errc::not_found,
                found.empty()
                    ? fmt::format("There is no visit \"{}\".", id.substr(0, 60))
                    : fmt::format("{} visits begin with \"{}\".", found.size(), id.substr(0, 60)),
                "ID",
                "see gaswright visit list");
}

}  // namespace

Result<LoadedVisit> load_visit(store::Store const& store, std::string const& id) {
    GW_TRY(auto const full, full_id(store, id));
    LoadedVisit out;
    GW_TRY(out.entries, store.of_subject(full));
    GW_TRY(auto const hash, visit::plan_hash_of(out.entries));
    GW_TRY(auto const text, store.evidence(hash));
    GW_TRY(auto plan, visit::read_plan(text, "plan " + hash.substr(0, 12)));
    GW_TRY(out.state, visit::visit_state(std::move(plan), out.entries));
    return out;
}

Result<visit::VisitShown> show_visit(store::Store const& store,
                                     std::string const& id,
                                     Instant now) {
    GW_TRY(auto loaded, load_visit(store, id));
    auto made = visit_findings(loaded.state, store);
    auto ledger = visit::ledger(loaded.state, made.findings);
    auto signatures = visit_signatures(store, loaded.state.visit, loaded.entries);
    return visit::VisitShown{std::move(loaded.state),
                             std::move(made.findings),
                             std::move(ledger),
                             std::move(made.warnings),
                             now,
                             std::move(signatures)};
}

}  // namespace gw::desk
