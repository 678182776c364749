// Any bytes: a trace with finite samples on an even grid that survives being written and read, or
// one clear refusal.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "trace/trace_file.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

void check(gw::trace::Trace const& trace) {
    require(trace.samples() >= 16 && trace.interval_s > 0 && std::isfinite(trace.interval_s));
    for (auto const& signal : trace.signals) {
        require(signal.size() == trace.samples());
        for (float const value : signal) require(std::isfinite(value));
    }
    for (auto const& gap : trace.gaps) require(gap.first <= gap.last && gap.last < trace.samples());
    auto const again = gw::trace::read_trace(gw::trace::trace_csv(trace), "again.csv");
    require(again.has_value());
    require(again->interval_s == trace.interval_s);
    require(again->signals == trace.signals);
    require(again->unit == trace.unit);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    (void)gw::trace::looks_like_report(text);
    for (auto const& options :
         {gw::trace::TraceReadOptions{}, gw::trace::TraceReadOptions{.rate_hz = 50}}) {
        auto const trace = gw::trace::read_trace(text, "fuzz.csv", options);
        if (trace)
            check(*trace);
        else
            require(!trace.error().what.empty() && !trace.error().where.empty());
    }
    return 0;
}
