// Any bytes: an archive whose every run is whole or clearly refused; what is read packs to the
// same.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "trace/archive.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

void check(gw::trace::Trace const& trace, gw::trace::Unpacker& unpacker) {
    require(trace.samples() > 0 && trace.interval_s > 0 && std::isfinite(trace.interval_s));
    for (auto const& signal : trace.signals) {
        require(signal.size() == trace.samples());
        for (float const value : signal) require(std::isfinite(value));
    }
    for (auto const& gap : trace.gaps) require(gap.first <= gap.last && gap.last < trace.samples());
    auto const packed = gw::trace::packed(trace);
    require(packed.has_value());
    auto const again = unpacker.unpacked(packed->head, packed->body, "again");
    require(again.has_value());
    require(again->signals == trace.signals && again->header == trace.header &&
            again->unit == trace.unit && again->interval_s == trace.interval_s);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    gw::trace::Unpacker unpacker;
    auto const archive = gw::trace::Archive::open(gw::trace::bytes_in_memory(text, "fuzz.gwa"));
    if (archive) {
        require(archive->whole_bytes() <= size);
        for (std::size_t i = 0; i < std::min<std::size_t>(archive->size(), 32); ++i) {
            auto const trace = archive->read(i, unpacker);
            if (trace)
                check(*trace, unpacker);
            else
                require(!trace.error().what.empty() && !trace.error().where.empty());
        }
    } else {
        require(!archive.error().what.empty() && !archive.error().where.empty());
    }
    // The checksum keeps nearly all of that from the parts behind it: they are met directly too.
    std::size_t const cut = size / 3;
    if (auto const run = unpacker.unpacked(text.substr(0, cut), text.substr(cut), "fuzz"))
        check(*run, unpacker);
    if (size > 4) {
        std::size_t const head = std::min<std::size_t>(size - 2, bytes[0] + 256U * bytes[1]);
        if (auto const run = unpacker.unpacked(text.substr(2, head), text.substr(2 + head), "fuzz"))
            check(*run, unpacker);
    }
    return 0;
}
