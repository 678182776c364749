#include "serve/judged.hpp"

namespace gw::serve {

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
