#pragma once
/// What an auditor asks of the record of a visit, as data with sources, and where the handover
/// answers it: data/report/auditor_checklist.json.
#include <string>
#include <vector>

#include "desk/handover_facts.hpp"

namespace gw::desk {

struct ChecklistLine {
    std::string id, asks, source;
    bool answered = false;
    std::string where;  ///< the section that shows it, or what is not there
};
/// Every question of the list, in its order. Fails when the list asks for something that this
/// program cannot look for.
Result<std::vector<ChecklistLine>> auditor_checklist(HandoverFacts const& facts);

}  // namespace gw::desk
