#include "serve/judged.hpp"

#include <chrono>
#include <exception>
#include <nlohmann/json.hpp>

namespace gw::serve {

JudgedVisits::JudgedVisits(std::shared_ptr<Books> books, std::shared_ptr<EventHub> hub)
    : books_(std::move(books)), hub_(std::move(hub)), thread_([this] { ahead(); }) {}

JudgedVisits::~JudgedVisits() {
    {
        std::lock_guard const lock(guard_);
        ending_ = true;
    }
    news_.notify_all();
    thread_.join();
}

std::optional<std::int64_t> JudgedVisits::judged_to(std::string const& visit) const {
    std::lock_guard const lock(guard_);
    auto const kept = kept_.find(visit);
    if (kept == kept_.end() || !kept->second.made.valid() ||
        kept->second.made.wait_for(std::chrono::seconds(0)) != std::future_status::ready)
        return std::nullopt;
    return kept->second.last;
}

void JudgedVisits::foresee(std::string const& visit) {
    {
        std::lock_guard const lock(guard_);
        asked_.insert(visit);
    }
    news_.notify_one();
}

void JudgedVisits::ahead() {
    for (;;) {
        std::string visit;
        {
            std::unique_lock lock(guard_);
            news_.wait(lock, [this] { return ending_ || !asked_.empty(); });
            if (ending_) return;
            visit = *asked_.begin();
            asked_.erase(asked_.begin());
        }
        try {
            auto const made = of(visit);
            if (made && hub_)
                hub_->tell("judged",
                           Json{{"visit", visit}, {"last_entry", (*made)->loaded.state.last}});
        } catch (std::exception const&) {
            // Whoever asks for it hears of it; nobody waits here.
        }
    }
}

Result<std::shared_ptr<Judged const>> JudgedVisits::of(std::string const& visit) {
    GW_TRY(auto const book, books_->book_of_visit(visit));
    GW_TRY(auto const store, books_->read(book));
    GW_TRY(auto loaded, desk::load_visit(*store, visit));
    auto const last = loaded.state.last;
    std::promise<Made> promise;
    std::shared_future<Made> made;
    bool mine = false;
    {
        std::lock_guard const lock(guard_);
        auto& kept = kept_[loaded.state.visit];
        // An older state that was read before another call wrote must not push out a newer one.
        if (kept.last != last || !kept.made.valid()) {
            mine = true;
            made = promise.get_future().share();
            if (kept.last <= last) kept = {last, made};
        } else {
            made = kept.made;
        }
    }
    if (!mine) return made.get();
    try {
        auto out = std::make_shared<Judged>();
        out->made = desk::visit_findings(loaded.state, *store, &runs_);
        out->ledger = visit::ledger(loaded.state, out->made.findings);
        out->signatures = desk::visit_signatures(*store, loaded.state.visit, loaded.entries);
        out->loaded = std::move(loaded);
        promise.set_value(std::shared_ptr<Judged const>(std::move(out)));
    } catch (...) {  // those who wait must hear of it too
        promise.set_exception(std::current_exception());
        std::lock_guard const lock(guard_);
        kept_.erase(visit);
    }
    return made.get();
}

}  // namespace gw::serve
