// A plan may come from outside. Whatever the bytes: what is accepted can be walked in its own
// order, and no safety step of it is ever done by an override.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>

#include "base/hash.hpp"
#include "visit/visit_acts.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "plan_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string const text(reinterpret_cast<char const*>(bytes), size);
    auto const plan = visit::read_plan(text, "fuzz");
    if (!plan) {
        require(!plan.error().what.empty(), "a refusal says what");
        return 0;
    }
    std::vector<visit::Entry> entries;
    auto const put = [&](visit::NewEntry const& entry) {
        auto const head = entries.empty()
                              ? visit::Head{}
                              : visit::Head{entries.back().sequence, entries.back().hash};
        auto sealed = visit::seal(entry, head);
        if (!sealed) return false;
        entries.push_back(*std::move(sealed));
        return true;
    };
    visit::Act act{"A", Instant{1000, 0}, std::nullopt};
    require(put(visit::open_visit({plan->name, "PX", "", "", "", nullptr}, "V", plan->hash, act)),
            "a visit opens");
    std::size_t steps = 0;
    for (auto const& stage : plan->stages)
        for (auto const& step : stage.steps) {
            if (++steps > 25) return 0;
            auto const state = visit::visit_state(*plan, entries);
            require(state.has_value(), "the fold answers");
            visit::AddRequest request;
            request.stage = stage.name;
            request.step = step.name;
            request.override_reason = "hurry";
            auto const overridden = visit::add(*state, request, act);
            require(step.step_class != visit::StepClass::safety || !overridden,
                    "nobody overrides a safety step alone");
            request.override_reason.reset();
            request.value = "seen";
            auto const taken = visit::add(*state, request, act);
            require(taken.has_value(), "words are taken in the plan's own order");
            if (!put(*taken)) return 0;  // names that no entry can hold
        }
    return 0;
}
