#pragma once
/// Faults as changes of the oven's physics: one table of ids for the whole project.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "oven/model.hpp"

namespace gw::oven {

/// What a fault may change: the oven, and the amounts of its species in the gas.
struct Faulty {
    Oven oven;
    std::vector<double> amounts;
};

struct Fault {
    std::string_view id;
    std::string_view title;
    std::string_view severity;  ///< what the number means, with its unit
    double low{}, high{};       ///< severities that make sense
    void (*apply)(Faulty& run, double severity, std::string const& action);
    bool takes_action = false;  ///< "event_late:reverse A"; without one, every event but injection
};

std::span<Fault const> faults();

struct FaultRequest {
    std::string name;  ///< id, or id:action
    double severity{};
};
/// "NAME=SEVERITY". Refuses an unknown name (with the list), a severity outside its range, an
/// action that no event has.
Result<FaultRequest> read_fault(std::string const& text, std::string const& option);
Result<> apply_fault(Faulty& run, FaultRequest const& fault, std::string const& option);

}  // namespace gw::oven
