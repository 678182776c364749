#pragma once
/// What the page has opened: traces, twins, histories.
#include <memory>
#include <mutex>
#include <optional>

#include "desk/history.hpp"
#include "desk/trace_view.hpp"
#include "desk/twin_bench.hpp"
#include "serve/shelf.hpp"

namespace gw::serve {

/// A history and its charts, which are made when they are first asked for.
struct HeldHistory {
    desk::History history;
    struct Made {
        std::once_flag once;
        std::optional<Result<desk::HistoryCharts>> charts;
    };
    std::shared_ptr<Made> made = std::make_shared<Made>();

    [[nodiscard]] Result<desk::HistoryCharts> const& charts() const {
        std::call_once(made->once, [this] { made->charts = desk::history_charts(history); });
        return *made->charts;
    }
};

struct Shelves {
    // A year of runs is about 50 MB, a trace of ten million samples 80 MB: one of each, or many of
    // the usual size.
    Shelf<desk::TraceView> traces{40UL << 20};
    Shelf<desk::TwinBench> twins{4UL << 20};
    Shelf<HeldHistory> histories{40UL << 20};
};

}  // namespace gw::serve
