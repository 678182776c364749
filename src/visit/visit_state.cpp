#include "visit/visit_state.hpp"

namespace gw::visit {

std::string_view name(StepState state) {
    switch (state) {
        case StepState::open:
            return "open";
        case StepState::done:
            return "done";
        case StepState::overridden:
            return "overridden";
        case StepState::passed:
            return "passed";
        case StepState::not_done:
            return "not_done";
        case StepState::not_obtainable:
            return "not_obtainable";
        case StepState::not_applicable:
            return "not_applicable";
    }
    return "open";
}

std::string_view name(Standing standing) {
    switch (standing) {
        case Standing::current:
            return "current";
        case Standing::superseded:
            return "superseded";
        case Standing::withdrawn:
            return "withdrawn";
        case Standing::expired:
            return "expired";
        case Standing::aside:
            return "remark";
    }
    return "current";
}

bool StepView::carries() const {
    if (state == StepState::open) return false;
    return !(step->step_class == StepClass::safety &&
             (state == StepState::not_done || state == StepState::not_obtainable));
}

Evidence const* StepView::current() const {
    for (auto item = evidence.rbegin(); item != evidence.rend(); ++item)
        if (item->standing == Standing::current) return &*item;
    return nullptr;
}

StepState StageView::state() const {
    bool all_inapplicable = true, overridden = false, not_done = false;
    for (auto const& step : steps) {
        if (step.step->step_class == StepClass::note) continue;
        switch (step.state) {
            case StepState::open:
                return StepState::open;
            case StepState::done:
                break;
            case StepState::overridden:
            case StepState::passed:
                overridden = true;
                break;
            case StepState::not_done:
            case StepState::not_obtainable:
                not_done = true;
                break;
            case StepState::not_applicable:
                continue;
        }
        all_inapplicable = false;
    }
    if (not_done) return StepState::not_done;
    if (overridden) return StepState::overridden;
    return all_inapplicable ? StepState::not_applicable : StepState::done;
}

StepView const* VisitState::find(std::string_view step) const {
    auto const wanted = plain_name(step);
    for (auto const& stage : stages)
        for (auto const& view : stage.steps)
            if (plain_name(view.step->name) == wanted) return &view;
    return nullptr;
}

StageView const* VisitState::stage(std::string_view name) const {
    auto const wanted = plain_name(name);
    for (auto const& view : stages)
        if (plain_name(view.stage->name) == wanted) return &view;
    return nullptr;
}

StepView const* VisitState::now() const {
    if (ended()) return nullptr;
    // Having turned back, what the way back asks for comes first.
    for (bool const back : {true, false})
        for (auto const& stage : stages)
            for (auto const& step : stage.steps)
                if (stage.way_back == back && step.state == StepState::open &&
                    step.waits_for.empty() && step.step->step_class != StepClass::note)
                    return &step;
    return nullptr;
}

double VisitState::minutes_needed() const {
    double sum = 0;
    for (auto const& stage : stages)
        for (auto const& step : stage.steps)
            if (step.state == StepState::open && step.step->step_class != StepClass::note)
                sum += step.step->minutes;
    return sum;
}

}  // namespace gw::visit
