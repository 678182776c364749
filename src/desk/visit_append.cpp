#include "desk/visit_append.hpp"

#include <nlohmann/json.hpp>

namespace gw::desk {

namespace {

Result<> require_seen(LoadedVisit const& loaded, visit::Act const& act) {
    if (!act.seen || *act.seen == loaded.state.last) return {};
    return fail(Errc::conflict,
                "The record has grown since it was looked at.",
                "seen",
                "look at what was added, then record again");
}

}  // namespace

Result<Recorded> record(store::Store& store,
                        std::string const& id,
                        std::string const& step,
                        visit::Act const& act,
                        Decide const& decide) {
    for (int attempt = 0;; ++attempt) {
        GW_TRY(auto loaded, load_visit(store, id));
        GW_CHECK(require_seen(loaded, act));
        GW_TRY(auto append, decide(loaded));
        append.seen = {loaded.state.visit, loaded.state.last};
        auto added = store.append(append);
        if (!added) {
            if (added.error().code == Errc::conflict && attempt < most_tries) continue;
            return pass_on(added.error());
        }
        for (auto const& entry : *added)
            if (entry.subject == loaded.state.visit) loaded.entries.push_back(entry);
        GW_TRY(auto state, visit::visit_state(*loaded.state.plan, loaded.entries));
        return Recorded{added->back(), std::move(state), step};
    }
}

Decide one(std::function<Result<visit::NewEntry>(LoadedVisit const&)> act) {
    return [act = std::move(act)](LoadedVisit const& loaded) -> Result<store::Append> {
        GW_TRY(auto entry, act(loaded));
        store::Append append;
        append.entries.push_back(std::move(entry));
        return append;
    };
}

}  // namespace gw::desk
