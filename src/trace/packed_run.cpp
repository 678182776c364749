#include "trace/packed_run.hpp"

#include <zstd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "base/bytes.hpp"
#include "base/wide.hpp"
#include "trace/counts.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t longest_text = 65536, most_texts = 4096, most_detectors = 64;

// How the samples of one detector are kept.
struct Channel {
    Scaling scaling = Scaling::bits;
    int order = 0;  // of the differences
    double scale = 1;
    std::uint32_t bytes{};  // compressed
};

tl::unexpected<Error> broken(std::string const& where, std::string what) {
    return fail(Errc::bad_input, std::move(what), where, "take the run from its source again");
}

// Differences wrap around, so that they undo exactly; the sign goes to the lowest bit; then all
// lowest bytes, all second bytes and so on, because only the low ones are noise.
std::string shuffled(std::span<std::int32_t const> counts, int order) {
    std::size_t const n = counts.size();
    std::string out(4 * n, '\0');
    std::uint32_t before = 0, before_d = 0;
    for (std::size_t i = 0; i < n; ++i) {
        auto const x = static_cast<std::uint32_t>(counts[i]);
        std::uint32_t const d = x - before;
        std::uint32_t const v = order == 0 ? x : order == 1 ? d : d - before_d;
        before = x, before_d = d;
        std::uint32_t const z =
            (v << 1U) ^ static_cast<std::uint32_t>(static_cast<std::int32_t>(v) >> 31);
        for (std::size_t byte = 0; byte < 4; ++byte)
            out[byte * n + i] = static_cast<char>((z >> (8 * byte)) & 0xFFU);
    }
    return out;
}

GW_WIDE void unshuffled(unsigned char const* __restrict b,
                        std::size_t n,
                        int order,
                        std::int32_t* __restrict counts) {
    for (std::size_t i = 0; i < n; ++i) {
        std::uint32_t const z = std::uint32_t{b[i]} | std::uint32_t{b[n + i]} << 8U |
                                std::uint32_t{b[2 * n + i]} << 16U |
                                std::uint32_t{b[3 * n + i]} << 24U;
        counts[i] = static_cast<std::int32_t>((z >> 1U) ^ (~(z & 1U) + 1U));
    }
    if (order == 0) return;
    std::uint32_t x = 0, d = 0;
    if (order == 1)
        for (std::size_t i = 0; i < n; ++i) {
            x += static_cast<std::uint32_t>(counts[i]);
            counts[i] = static_cast<std::int32_t>(x);
        }
    else
        for (std::size_t i = 0; i < n; ++i) {
            d += static_cast<std::uint32_t>(counts[i]);
            x += d;
            counts[i] = static_cast<std::int32_t>(x);
        }
}

GW_WIDE bool all_finite(float const* values, std::size_t n) {
    // Infinity and what is no number have every bit of the exponent set.
    std::uint32_t wild = 0;
    for (std::size_t i = 0; i < n; ++i)
        wild |= static_cast<std::uint32_t>(
            (std::bit_cast<std::uint32_t>(values[i]) & 0x7F800000U) == 0x7F800000U);
    return wild == 0;
}

void put_texts(ByteWriter& out, std::vector<std::string> const& texts) {
    out.put(static_cast<std::uint32_t>(texts.size()));
    for (auto const& t : texts) out.text(t);
}

struct Head {
    RunHead run;
    std::vector<Channel> channels;
};

Result<Head> read_head(std::string_view bytes, std::string const& where) {
    ByteReader in(bytes);
    Head out;
    auto& t = out.run.trace;
    t.source = in.text(longest_text);
    t.hash = in.text(longest_text);
    t.unit = in.text(longest_text);
    bool const has_start = in.get<std::uint8_t>() != 0;
    Instant const start{static_cast<std::int64_t>(in.get<std::uint64_t>()),
                        static_cast<std::int32_t>(in.get<std::uint32_t>())};
    if (has_start) t.start = start;
    t.start_s = in.real();
    t.interval_s = in.real();
    auto const entries = in.get<std::uint32_t>();
    for (std::uint32_t i = 0; i < entries && i < most_texts && in.good(); ++i) {
        std::string key(in.text(longest_text));
        t.header[std::move(key)] = in.text(longest_text);
    }
    auto const warnings = in.get<std::uint32_t>();
    for (std::uint32_t i = 0; i < warnings && i < most_texts && in.good(); ++i)
        t.warnings.emplace_back(in.text(longest_text));
    auto const samples = in.get<std::uint64_t>();
    auto const gaps = in.get<std::uint32_t>();
    if (!in.good() || entries > most_texts || warnings > most_texts || gaps > in.left() / 16)
        return broken(where, "The head of the run is cut short or damaged.");
    for (std::uint32_t i = 0; i < gaps; ++i) {
        auto const first = in.get<std::uint64_t>(), last = in.get<std::uint64_t>();
        if (first > last || last >= samples)
            return broken(where, "A gap of the run lies outside its samples.");
        t.gaps.push_back({static_cast<std::size_t>(first), static_cast<std::size_t>(last)});
    }
    auto const detectors = in.get<std::uint8_t>();
    if (!in.good() || detectors == 0 || detectors > most_detectors || samples == 0 ||
        samples > most_packed_samples / detectors)
        return broken(where, "The run states an impossible number of samples or detectors.");
    if (!std::isfinite(t.start_s) || !std::isfinite(t.interval_s) || !(t.interval_s > 0))
        return broken(where, "The run states an impossible time or interval.");
    for (int d = 0; d < detectors; ++d) {
        Channel c;
        auto const scaling = in.get<std::uint8_t>(), order = in.get<std::uint8_t>();
        c.scale = in.real();
        c.bytes = in.get<std::uint32_t>();
        if (!in.good() || scaling > 2 || order > 2 || !std::isfinite(c.scale) || !(c.scale > 0))
            return broken(where, "The run's samples are kept in a way that is not known.");
        c.scaling = static_cast<Scaling>(scaling), c.order = order;
        out.channels.push_back(c);
    }
    if (in.left() != 0) return broken(where, "The head of the run is longer than it says.");
    out.run.samples = static_cast<std::size_t>(samples);
    t.signals.resize(detectors);
    return out;
}

}  // namespace

Result<PackedRun> packed(Trace const& trace, int level) {
    std::size_t const samples = trace.samples();
    if (samples == 0 || trace.signals.size() > most_detectors ||
        samples > most_packed_samples / trace.signals.size())
        return fail(
            Errc::out_of_range,
            fmt::format("The run has {} samples of {} detectors; an archive takes {} in all.",
                        samples,
                        trace.signals.size(),
                        most_packed_samples),
            trace.source,
            "split the run, or keep it as a file");
    PackedRun out;
    std::vector<Channel> channels;
    for (auto const& signal : trace.signals) {
        auto const counts = counts_of(signal);
        Channel c{counts.scaling, 0, counts.scale, 0};
        for (int order = 1; order <= 2; ++order)
            if (packing_cost(counts.values, order) < packing_cost(counts.values, c.order))
                c.order = order;
        auto const planes = shuffled(counts.values, c.order);
        std::string squeezed(ZSTD_compressBound(planes.size()), '\0');
        auto const size =
            ZSTD_compress(squeezed.data(), squeezed.size(), planes.data(), planes.size(), level);
        if (ZSTD_isError(size) != 0)
            return fail(Errc::io, "The samples could not be compressed.", trace.source);
        c.bytes = static_cast<std::uint32_t>(size);
        out.body.append(squeezed, 0, size);
        channels.push_back(c);
    }
    ByteWriter head;
    head.text(trace.source);
    head.text(trace.hash);
    head.text(trace.unit);
    head.put(static_cast<std::uint8_t>(trace.start ? 1 : 0));
    auto const start = trace.start.value_or(Instant{});
    head.put(static_cast<std::uint64_t>(start.milliseconds));
    head.put(static_cast<std::uint32_t>(start.offset_minutes));
    head.real(trace.start_s);
    head.real(trace.interval_s);
    head.put(static_cast<std::uint32_t>(trace.header.size()));
    bool fits = trace.header.size() <= most_texts && trace.warnings.size() <= most_texts &&
                trace.source.size() <= longest_text && trace.unit.size() <= longest_text;
    for (auto const& [key, value] : trace.header) {
        fits = fits && key.size() <= longest_text && value.size() <= longest_text;
        head.text(key), head.text(value);
    }
    for (auto const& w : trace.warnings) fits = fits && w.size() <= longest_text;
    put_texts(head, trace.warnings);
    head.put(static_cast<std::uint64_t>(samples));
    head.put(static_cast<std::uint32_t>(trace.gaps.size()));
    for (auto const& gap : trace.gaps)
        head.put(std::uint64_t{gap.first}), head.put(std::uint64_t{gap.last});
    head.put(static_cast<std::uint8_t>(trace.signals.size()));
    for (auto const& c : channels) {
        head.put(static_cast<std::uint8_t>(c.scaling));
        head.put(static_cast<std::uint8_t>(c.order));
        head.real(c.scale);
        head.put(c.bytes);
    }
    out.head = head.bytes();
    if (!fits || out.head.size() > largest_packed_head || out.body.size() > largest_packed_body)
        return fail(Errc::out_of_range,
                    "The lines at the head of the run, or its gaps, are too many for an archive.",
                    trace.source,
                    "shorten them");
    return out;
}

Result<RunHead> packed_head(std::string_view head, std::string const& where) {
    GW_TRY(auto out, read_head(head, where));
    return std::move(out.run);
}

struct Unpacker::State {
    std::unique_ptr<ZSTD_DCtx, decltype(&ZSTD_freeDCtx)> context{ZSTD_createDCtx(), &ZSTD_freeDCtx};
    std::string planes;
    std::vector<std::int32_t> counts;
};

Unpacker::Unpacker() : state_(std::make_unique<State>()) {}
Unpacker::~Unpacker() = default;
Unpacker::Unpacker(Unpacker&&) noexcept = default;
Unpacker& Unpacker::operator=(Unpacker&&) noexcept = default;

Result<Trace> Unpacker::unpacked(std::string_view head,
                                 std::string_view body,
                                 std::string const& where) {
    GW_TRY(auto read, read_head(head, where));
    auto& s = *state_;
    std::size_t const n = read.run.samples;
    auto& trace = read.run.trace;
    for (std::size_t d = 0; d < read.channels.size(); ++d) {
        auto const& c = read.channels[d];
        if (c.bytes > body.size()) return broken(where, "The samples of the run are cut short.");
        auto const frame = body.substr(0, c.bytes);
        body.remove_prefix(c.bytes);
        if (ZSTD_getFrameContentSize(frame.data(), frame.size()) != 4 * n)
            return broken(where, "The samples of the run are not as many as it says.");
        s.planes.resize(4 * n);
        s.counts.resize(n);
        auto const got = ZSTD_decompressDCtx(
            s.context.get(), s.planes.data(), s.planes.size(), frame.data(), frame.size());
        if (ZSTD_isError(got) != 0 || got != 4 * n)
            return broken(where, "The samples of the run do not decompress.");
        unshuffled(
            reinterpret_cast<unsigned char const*>(s.planes.data()), n, c.order, s.counts.data());
        auto& signal = trace.signals[d];
        signal.resize(n);
        signal_of(s.counts, c.scaling, c.scale, signal);
        if (!all_finite(signal.data(), n))
            return broken(where, "A sample of the run is no finite number.");
    }
    if (!body.empty()) return broken(where, "The run holds more than its samples.");
    return std::move(trace);
}

}  // namespace gw::trace
