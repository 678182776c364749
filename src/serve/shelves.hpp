#pragma once
/// What the page has opened: traces, twins, histories.
#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "desk/history.hpp"
#include "desk/trace_view.hpp"
#include "desk/twin_bench.hpp"
#include "serve/shelf.hpp"

namespace gw::serve {

/// A history and its charts, each made when it is first asked for; two who ask at once make it
/// once.
class HeldHistory {
  public:
    explicit HeldHistory(desk::History of) : history(std::move(of)) {}
    desk::History history;

    [[nodiscard]] Result<Json> chart(std::string const& column) const {
        auto const place = [&] {
            std::lock_guard const lock(charts_->guard);
            auto& made = charts_->of[column];
            if (!made) made = std::make_shared<One>();
            return made;
        }();
        std::call_once(place->once, [&] { place->chart = desk::history_chart(history, column); });
        return *place->chart;
    }

  private:
    struct One {
        std::once_flag once;
        std::optional<Result<Json>> chart;
    };
    struct Charts {
        std::mutex guard;
        std::map<std::string, std::shared_ptr<One>> of;
    };
    std::shared_ptr<Charts> charts_ = std::make_shared<Charts>();
};

struct Shelves {
    // A year of runs is about 50 MB, a trace of ten million samples 80 MB: one of each, or many of
    // the usual size.
    Shelf<desk::TraceView> traces{40UL << 20};
    Shelf<desk::TwinBench> twins{4UL << 20};
    Shelf<HeldHistory> histories{40UL << 20};
};

}  // namespace gw::serve
