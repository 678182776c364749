#include "desk/trace_pack.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"
#include "desk/run_list.hpp"
#include "trace/archive.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {

namespace fs = std::filesystem;

namespace {

std::string hex(std::string_view raw) {
    std::string out;
    for (char const c : raw) out += fmt::format("{:02x}", static_cast<unsigned char>(c));
    return out;
}

Result<trace::Archive> open_archive(std::string const& path) {
    GW_TRY(auto bytes, trace::bytes_of_file(path));
    return trace::Archive::open(std::move(bytes));
}

// The places of the runs asked for.
Result<std::vector<std::size_t>> asked_for(trace::Archive const& archive,
                                           ArchiveQuery const& query) {
    if (query.run && (*query.run < 1 || *query.run > archive.size()))
        return fail(Errc::not_found,
                    fmt::format("The archive has no run {}.", *query.run),
                    "--run",
                    fmt::format("it holds {}", archive.size()));
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < archive.size(); ++i) {
        auto const& e = archive.entries()[i];
        if (query.run && i + 1 != *query.run) continue;
        if (query.content && hex(e.content).rfind(lowered(*query.content), 0) != 0) continue;
        if (query.from && !(e.started_ms && *e.started_ms >= query.from->milliseconds)) continue;
        if (query.to && !(e.started_ms && *e.started_ms < query.to->milliseconds)) continue;
        out.push_back(i);
    }
    if (out.empty() && (query.content || query.from || query.to))
        return fail(Errc::not_found,
                    "The archive holds no such run.",
                    query.archive,
                    "gaswright trace pack list shows what it holds");
    return out;
}

ArchiveListing opened(trace::Archive const& archive, std::string const& path) {
    ArchiveListing out;
    std::error_code ignored;
    out.archive = path;
    out.runs = archive.size();
    out.bytes = fs::file_size(path, ignored);
    out.lost_bytes = archive.lost_bytes();
    out.indexed = archive.indexed();
    if (!out.indexed)
        out.warnings.push_back(
            fmt::format("{}: its index does not hold: an append was cut off, or the file is "
                        "damaged. The runs were "
                        "found by walking through it; {} bytes at the end belong to no whole run. "
                        "The next append "
                        "mends it.",
                        path,
                        out.lost_bytes));
    return out;
}

ListedRun listed_run(trace::Archive const& archive, std::size_t i) {
    ListedRun out;
    out.run = i + 1;
    out.content = hex(archive.entries()[i].content);
    out.bytes = archive.entries()[i].size;
    auto const head = archive.head(i);
    if (!head) {
        out.problem = head.error().what;
        return out;
    }
    auto const& t = head->trace;
    out.source = t.source, out.unit = t.unit, out.header = t.header;
    out.interval_s = t.interval_s;
    out.samples = head->samples, out.detectors = t.signals.size();
    if (t.start) out.start = to_text(*t.start);
    return out;
}

}  // namespace

Result<Packed> trace_pack(PackRequest const& request) {
    Packed out;
    out.archive = request.archive;
    GW_TRY(auto const runs, RunList::of(request.runs));
    std::error_code ignored;
    if (!request.append && fs::exists(request.archive, ignored))
        return fail(Errc::conflict,
                    "This file stands already.",
                    request.archive,
                    "add to it with gaswright trace pack append, or choose another name");
    GW_TRY(auto writer,
           request.append ? trace::ArchiveWriter::append(request.archive)
                          : trace::ArchiveWriter::create(request.archive));
    out.mended_bytes = writer.mended_bytes();
    trace::Unpacker unpacker;
    for (std::size_t i = 0; i < runs.size(); ++i) {
        auto const run = runs.read(i, unpacker, request.rate_hz);
        if (!run) {
            out.not_read.push_back(one_line(run.error()));
            continue;
        }
        auto const* trace = std::get_if<trace::Trace>(&*run);
        if (trace == nullptr) {
            out.not_read.push_back(runs.name(i) + ": a printed report has no samples to pack");
            continue;
        }
        GW_TRY(bool const added, writer.add(*trace));
        ++(added ? out.added : out.doubles);
    }
    if (out.added == 0 && !request.append) {
        fs::remove(request.archive + ".part", ignored);
        return fail(Errc::bad_input,
                    "None of the runs can be packed; the first: " +
                        (out.not_read.empty() ? std::string("none given") : out.not_read.front()),
                    request.archive);
    }
    GW_CHECK(writer.finish());
    out.runs = writer.runs();
    out.bytes = fs::file_size(request.archive, ignored);
    for (auto const& sentence : out.not_read) out.warnings.push_back("Not packed: " + sentence);
    if (out.doubles > 0)
        out.warnings.push_back(fmt::format(
            "{} runs with the same content stand in the archive already.", out.doubles));
    if (out.mended_bytes > 0)
        out.warnings.push_back(
            fmt::format("An append that was cut off had left {} bytes; they were taken off.",
                        out.mended_bytes));
    return out;
}

Json packed_json(Packed const& p) {
    return Json{{"archive", p.archive},
                {"runs", p.runs},
                {"added", p.added},
                {"doubles", p.doubles},
                {"not_read", p.not_read},
                {"bytes", p.bytes},
                {"mended_bytes", p.mended_bytes},
                {"warnings", p.warnings}};
}

std::string packed_text(Packed const& p) {
    return fmt::format("{}: {} runs added, {} in all, {} kB\n",
                       p.archive,
                       p.added,
                       p.runs,
                       (p.bytes + 999) / 1000);
}

Result<ArchiveListing> archive_list(ArchiveQuery const& query) {
    GW_TRY(auto const archive, open_archive(query.archive));
    auto out = opened(archive, query.archive);
    GW_TRY(auto const places, asked_for(archive, query));
    for (std::size_t const i : places) {
        out.list.push_back(listed_run(archive, i));
        out.damaged += out.list.back().problem.empty() ? 0 : 1;
    }
    return out;
}

Result<ArchiveListing> archive_check(ArchiveQuery const& query) {
    GW_TRY(auto const archive, open_archive(query.archive));
    auto out = opened(archive, query.archive);
    GW_TRY(auto const places, asked_for(archive, query));
    trace::Unpacker unpacker;
    for (std::size_t const i : places) {
        auto const read = archive.read(i, unpacker);
        if (read) continue;
        auto run = listed_run(archive, i);
        run.problem = read.error().what;
        out.list.push_back(std::move(run));
        ++out.damaged;
    }
    return out;
}

Json listing_json(ArchiveListing const& l) {
    Json list = Json::array();
    for (auto const& r : l.list) {
        Json row{{"run", r.run},
                 {"start", r.start.empty() ? Json(nullptr) : Json(r.start)},
                 {"source", r.source},
                 {"content", r.content},
                 {"samples", r.samples},
                 {"detectors", r.detectors},
                 {"interval_s", r.interval_s},
                 {"unit", r.unit},
                 {"bytes", r.bytes},
                 {"header", r.header}};
        if (!r.problem.empty()) row["problem"] = r.problem;
        list.push_back(std::move(row));
    }
    return Json{{"archive", l.archive},
                {"runs", l.runs},
                {"bytes", l.bytes},
                {"indexed", l.indexed},
                {"lost_bytes", l.lost_bytes},
                {"damaged", l.damaged},
                {"list", list},
                {"warnings", l.warnings}};
}

std::string listing_text(ArchiveListing const& l) {
    std::string out =
        fmt::format("{}: {} runs, {} kB, {}\n",
                    l.archive,
                    l.runs,
                    (l.bytes + 999) / 1000,
                    l.damaged == 0 ? "none damaged" : fmt::format("{} damaged", l.damaged));
    if (l.list.empty()) return out;
    out += fmt::format("\n{:>7} {:<30} {:>9} {:>4} {:>10} {:<14} {}\n",
                       "run",
                       "start",
                       "samples",
                       "det",
                       "bytes",
                       "content",
                       "source");
    for (auto const& r : l.list)
        out += fmt::format("{:>7} {:<30} {:>9} {:>4} {:>10} {:<14} {}\n",
                           r.run,
                           r.start.empty() ? "-" : r.start,
                           r.samples,
                           r.detectors,
                           r.bytes,
                           r.content.substr(0, 12),
                           r.problem.empty() ? r.source : r.problem);
    return out;
}

Result<Extracted> archive_extract(ArchiveQuery const& query, std::string const& output) {
    GW_TRY(auto const archive, open_archive(query.archive));
    GW_TRY(auto const places, asked_for(archive, query));
    Extracted out;
    std::error_code ignored;
    bool const folder = fs::is_directory(output, ignored);
    if (!folder && places.size() != 1)
        return fail(Errc::bad_input,
                    fmt::format("{} runs do not go into one file.", places.size()),
                    "-o",
                    "name a folder that stands, or choose one with --run");
    trace::Unpacker unpacker;
    for (std::size_t const i : places) {
        GW_TRY(auto const trace, archive.read(i, unpacker));
        auto const path =
            folder ? (fs::path(output) / fmt::format("run{:06}.csv", i + 1)).string() : output;
        GW_CHECK(write_file(path, trace::trace_csv(trace)));
        out.written.push_back(path);
    }
    return out;
}

Json extracted_json(Extracted const& e) { return Json{{"written", e.written}}; }

std::string extracted_text(Extracted const& e) {
    return e.written.size() == 1 ? fmt::format("{} written\n", e.written.front())
                                 : fmt::format("{} runs written\n", e.written.size());
}

}  // namespace gw::desk
