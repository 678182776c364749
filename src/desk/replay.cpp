#include "desk/replay.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/parallel.hpp"
#include "base/text.hpp"
#include "desk/replay_table.hpp"
#include "desk/run_list.hpp"
#include "trace/follow.hpp"

namespace gw::desk {

namespace fs = std::filesystem;

namespace {

// Runs of one block are worked through by one thread in their order, each run followed from those
// before it in the block: what comes out depends on the block alone. The first of a block costs a
// careful search, so a block is long; a killed replay loses the blocks it was in and cores want
// work, so not too long.
std::size_t block_size(std::size_t runs) { return std::clamp<std::size_t>(runs / 16, 32, 1024); }

struct Block {
    std::string rows;
    std::size_t runs{}, failed{}, followed{}, careful{};
    std::vector<std::string> warnings;
};

std::string start_of(Run const& run) {
    auto const* trace = std::get_if<trace::Trace>(&run);
    return trace != nullptr && trace->start ? to_text(*trace->start) : "";
}

Block worked(RunList const& runs,
             std::size_t first,
             std::size_t last,
             AssaySetup const& setup,
             ReplayTable const& table,
             ReplayRequest const& request) {
    Block out;
    out.runs = last - first;
    trace::Unpacker unpacker;
    trace::PeakFollower follower;
    assay::PeakFinder const finder =
        [&](trace::Trace const& trace, int detector, trace::PeakOptions const& options) {
            return request.every_run_careful ? trace::find_peaks(trace, detector, options)
                                             : follower.find(trace, detector, options);
        };
    for (std::size_t i = first; i < last; ++i) {
        auto const name = runs.name(i);
        auto const run = runs.read(i, unpacker, request.assay.rate_hz);
        if (!run) {
            out.rows += table.failed_row(name, "", run.error());
            ++out.failed;
            continue;
        }
        auto const answer = assayed(*run, setup, finder);
        if (!answer) {
            out.rows += table.failed_row(name, start_of(*run), answer.error());
            ++out.failed;
            continue;
        }
        if (out.warnings.empty()) out.warnings = answer->warnings;
        out.rows += table.row(name, start_of(*run), *answer);
    }
    out.followed = follower.followed(), out.careful = follower.careful();
    return out;
}

// What the table depends on. A .part of anything else is not gone on with.
std::string identity(ReplayRequest const& request, AssaySetup const& setup, RunList const& runs) {
    std::string split;
    for (auto const& [component, x] : setup.characterisation.parts)
        split += fmt::format("{} {} ", gas::name(component), x);
    return to_text(Json{{"schema", "gaswright.replay/1"},
                        {"method", setup.method.hash},
                        {"calibration", setup.calibration.hash},
                        {"runs", runs.size()},
                        {"list", runs.fingerprint()},
                        {"reference", gas::title_of(setup.reference)},
                        {"characterisation", split},
                        {"rate_hz", request.assay.rate_hz.value_or(0)},
                        {"careful", request.every_run_careful},
                        {"block", block_size(runs.size())}});
}

// Rows that stand in a .part, whole blocks of them, and where they end.
struct Standing {
    std::size_t rows{}, failed{};
    std::uint64_t bytes{};
};

Standing standing(std::string const& part, std::string const& header, std::size_t block_runs) {
    std::ifstream file(part, std::ios::binary);
    Standing out, whole;
    std::string line;
    if (!std::getline(file, line) || file.eof() || line + "\n" != header) return {};
    out.bytes = header.size();
    whole.bytes = out.bytes;
    while (std::getline(file, line) && !file.eof()) {
        out.bytes += line.size() + 1;
        ++out.rows;
        if (line.find(",failed: ") != std::string::npos ||
            line.find(",\"failed: ") != std::string::npos)
            ++out.failed;
        if (out.rows % block_runs == 0) whole = out;
    }
    return whole;
}

class PartFile {
  public:
    explicit PartFile(std::string path) : path_(std::move(path)) {}
    PartFile(PartFile const&) = delete;
    PartFile& operator=(PartFile const&) = delete;
    ~PartFile() {
        if (fd_ >= 0) ::close(fd_);
    }
    Result<> open() {
        fd_ = ::open(path_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
        if (fd_ < 0) return wrong();
        if (::flock(fd_, LOCK_EX | LOCK_NB) != 0)
            return fail(Errc::busy, "Another replay is writing this table.", path_, "let it end");
        return {};
    }
    Result<> cut(std::uint64_t size) {
        if (::ftruncate(fd_, static_cast<off_t>(size)) != 0) return wrong();
        at_ = size;
        return {};
    }
    Result<> write(std::string_view bytes) {
        while (!bytes.empty()) {
            auto const done = ::pwrite(fd_, bytes.data(), bytes.size(), static_cast<off_t>(at_));
            if (done < 0 && errno == EINTR) continue;
            if (done <= 0) return wrong();
            at_ += static_cast<std::uint64_t>(done);
            bytes.remove_prefix(static_cast<std::size_t>(done));
        }
        return {};
    }
    Result<> finish(std::string const& name) {
        if (::fsync(fd_) != 0 || std::rename(path_.c_str(), name.c_str()) != 0) return wrong();
        return {};
    }

  private:
    [[nodiscard]] tl::unexpected<Error> wrong() const {
        return fail(Errc::io,
                    fmt::format("Writing failed ({}).", std::strerror(errno)),  // NOLINT
                    path_,
                    "check free space and the right to write there");
    }
    std::string path_;
    int fd_ = -1;
    std::uint64_t at_{};
};

}  // namespace

Result<Replay> replay(ReplayRequest const& request) {
    auto const began = std::chrono::steady_clock::now();
    auto const elapsed = [&] {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    };
    GW_TRY(auto const setup, assay_setup(request.assay));
    GW_TRY(auto const runs, RunList::open(request.runs));
    ReplayTable const table(setup);
    Replay out;
    out.output = request.output, out.runs = runs.size();
    out.warnings = setup.warnings;

    std::string const part = request.output + ".part", about = part + ".json";
    std::size_t const block_runs = block_size(runs.size());
    auto const same = identity(request, setup, runs);
    std::error_code ignored;
    PartFile file(part);
    bool const stands = fs::exists(part, ignored);
    GW_CHECK(file.open());
    Standing begun;
    if (stands && fs::file_size(part, ignored) > 0) {
        auto const before = read_file(about);
        if (!before || *before != same)
            return fail(
                Errc::conflict,
                "This table was begun with other runs, another method, calibration or other "
                "options.",
                part,
                "remove it to begin anew, or restore what it was begun with");
        begun = standing(part, table.header(), block_runs);
    }
    if (begun.bytes == 0) {
        GW_CHECK(write_file(about, same));
        GW_CHECK(file.cut(0));
        GW_CHECK(file.write(table.header()));
    } else {
        GW_CHECK(file.cut(begun.bytes));
    }
    out.resumed = begun.rows, out.failed = begun.failed;

    std::size_t const blocks = (runs.size() + block_runs - 1) / block_runs;
    std::size_t done = begun.rows;
    std::optional<Error> problem;
    parallel_stream(
        begun.rows / block_runs,
        blocks,
        [&](std::size_t b) {
            std::size_t const first = b * block_runs;
            return worked(
                runs, first, std::min(first + block_runs, runs.size()), setup, table, request);
        },
        [&](std::size_t, Block&& block) {
            if (auto const written = file.write(block.rows); !written) {
                problem = written.error();
                return false;
            }
            done += block.runs;
            out.failed += block.failed;
            out.followed += block.followed, out.careful += block.careful;
            if (request.progress) {
                double const s = elapsed();
                request.progress({done,
                                  runs.size(),
                                  s,
                                  static_cast<double>(done - begun.rows) / std::max(s, 1e-9)});
            }
            return true;
        },
        request.threads);
    if (problem) return pass_on(*problem);
    GW_CHECK(file.finish(request.output));
    fs::remove(about, ignored);
    out.elapsed_s = elapsed();
    return out;
}

Json replay_json(Replay const& r) {
    auto const here = static_cast<double>(r.runs - r.resumed);
    return Json{{"output", r.output},
                {"runs", r.runs},
                {"failed", r.failed},
                {"resumed", r.resumed},
                {"followed", r.followed},
                {"careful", r.careful},
                {"elapsed_s", r.elapsed_s},
                {"rate", r.elapsed_s > 0 ? here / r.elapsed_s : 0},
                {"warnings", r.warnings}};
}

std::string replay_text(Replay const& r) {
    return fmt::format(
        "{}: {} runs, {} failed, {} s\n", r.output, r.runs, r.failed, fixed(r.elapsed_s, 1));
}

}  // namespace gw::desk
