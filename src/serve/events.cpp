#include "serve/events.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <vector>

namespace gw::serve {

std::shared_ptr<void> EventHub::listen(Hear hear) {
    std::lock_guard const lock(guard_);
    int const id = next_++;
    ears_.emplace(id, std::move(hear));
    // The token may outlive the hub: it asks whether there still is one.
    return {nullptr, [id, hub = weak_from_this()](void*) {
                if (auto const here = hub.lock()) {
                    std::lock_guard const inside(here->guard_);
                    here->ears_.erase(id);
                }
            }};
}

void EventHub::tell(std::string_view name, Json const& data) {
    auto const text = std::make_shared<std::string const>(event_text(name, data));
    std::vector<Hear> all;
    {
        std::lock_guard const lock(guard_);
        for (auto const& [id, hear] : ears_) all.push_back(hear);
    }
    for (auto const& hear : all) hear(text);
}

bool EventHub::is_heard() const {
    std::lock_guard const lock(guard_);
    return !ears_.empty();
}

std::string event_text(std::string_view name, Json const& data) {
    return fmt::format(
        "event: {}\ndata: {}\n\n", name, data.dump(-1, ' ', false, Json::error_handler_t::replace));
}

}  // namespace gw::serve
