#include "desk/twin_fit.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "assay/cylinder.hpp"
#include "base/base.hpp"
#include "desk/load.hpp"
#include "desk/visit.hpp"

namespace gw::desk {

namespace {

struct Found {
    visit::Evidence const* evidence = nullptr;
    visit::Step const* step = nullptr;
};

Result<Found> run_of_entry(visit::VisitState const& state, std::int64_t entry) {
    for (auto const& stage : state.stages)
        for (auto const& view : stage.steps)
            for (auto const& evidence : view.evidence)
                if (evidence.entry == entry && evidence.kind == visit::Wants::run &&
                    !evidence.sha256.empty() && evidence.standing != visit::Standing::withdrawn)
                    return Found{&evidence, view.step};
    return fail(Errc::not_found,
                fmt::format("Entry {} of this visit kept no run that stands.", entry),
                "entries",
                "take runs that the visit lists");
}

// The certificate that was in the analyser then: of that basis, else of none.
Result<assay::Cylinder> certificate(visit::VisitState const& state,
                                    store::Store const& store,
                                    visit::Step const& run) {
    auto const role = run.gas + "_cylinder";
    visit::Evidence const* found = nullptr;
    for (auto const& stage : state.stages)
        for (auto const& view : stage.steps) {
            if (view.step->role != role) continue;
            auto const* stands = view.current();
            if (stands == nullptr || stands->sha256.empty()) continue;
            if (view.step->basis == run.basis || (found == nullptr && view.step->basis.empty()))
                found = stands;
        }
    if (found == nullptr)
        return fail(Errc::not_found,
                    fmt::format("The visit keeps no certificate of its {} gas.", run.gas),
                    "gas",
                    "say that the gas is not known, or open the gas that ran");
    GW_TRY(auto const bytes, store.evidence(found->sha256));
    return cylinder_of(bytes, found->file);
}

}  // namespace

Result<FitGas> fit_gas_of(std::string const& word) {
    if (word == "opened") return FitGas::opened;
    if (word == "certified") return FitGas::certified;
    if (word == "unknown") return FitGas::unknown;
    return fail(Errc::bad_input,
                "Which gas ran is said in one of three words.",
                "gas",
                "give opened, certified or unknown");
}

Result<TwinFitInputs> twin_fit_inputs(TwinBench const& bench,
                                      store::Store const& store,
                                      std::string const& visit,
                                      std::vector<std::int64_t> const& entries,
                                      FitGas gas) {
    GW_TRY(auto const loaded, load_visit(store, visit));
    TwinFitInputs out;
    out.twin = bench.twin;
    visit::Step const* first = nullptr;
    std::string stream;
    for (auto const entry : entries) {
        GW_TRY(auto const found, run_of_entry(loaded.state, entry));
        if (first == nullptr) {
            first = found.step;
            stream = found.evidence->stream;
        } else if (first->gas != found.step->gas || first->basis != found.step->basis ||
                   stream != found.evidence->stream) {
            return fail(Errc::bad_input,
                        "These runs are of more than one gas or state of the analyser.",
                        "entries",
                        "choose runs on one gas, all as found or all as left");
        }
        GW_TRY(auto const bytes, store.evidence(found.evidence->sha256));
        GW_TRY(auto run, run_of(bytes, found.evidence->file));
        auto* trace = std::get_if<trace::Trace>(&run);
        if (trace == nullptr)
            return fail(Errc::bad_input,
                        "This is a printed report; the twin needs the signal itself.",
                        found.evidence->file,
                        "choose runs that are traces");
        out.runs.push_back(std::move(*trace));
        out.names.push_back(found.evidence->file);
    }
    if (first == nullptr)
        return fail(
            Errc::bad_input, "There is no run to fit to.", "entries", "choose at least one");
    switch (gas) {
        case FitGas::opened:
            out.amounts = bench.amounts;
            break;
        case FitGas::certified: {
            GW_TRY(auto const cylinder, certificate(loaded.state, store, *first));
            auto const& split = bench.twin.method.characterisation.parts.empty()
                                    ? gas::default_characterisation()
                                    : bench.twin.method.characterisation;
            GW_TRY(out.amounts,
                   oven::amounts_of(assay::certified_gas(cylinder), bench.twin.oven, split));
            break;
        }
        case FitGas::unknown:
            break;
    }
    return out;
}

Result<TwinFitDone> twin_fit(TwinFitInputs const& inputs, std::function<bool(double)> go_on) {
    TwinFitDone out;
    GW_TRY(out.fit, fit_of(inputs.twin, inputs.amounts, inputs.runs, std::move(go_on)));
    out.fit.warnings.insert(
        out.fit.warnings.begin(), inputs.warnings.begin(), inputs.warnings.end());
    GW_TRY(out.method, fitted_method(inputs.twin, out.fit, inputs.amounts.has_value()));
    return out;
}

}  // namespace gw::desk
