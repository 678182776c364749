#include "desk/run_list.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"

namespace gw::desk {

namespace fs = std::filesystem;

namespace {

Result<std::vector<std::string>> files_of(std::string const& folder) {
    std::vector<std::string> out;
    std::error_code problem;
    for (fs::directory_iterator it(folder, problem), end; !problem && it != end;
         it.increment(problem)) {
        auto const name = it->path().filename().string();
        if (name.front() != '.' && it->is_regular_file(problem)) out.push_back(it->path().string());
    }
    if (problem)
        return fail(Errc::io,
                    fmt::format("The folder cannot be read ({}).", problem.message()),
                    folder,
                    "check the right to read it");
    std::sort(out.begin(), out.end());
    if (out.empty())
        return fail(
            Errc::bad_input, "The folder holds no file.", folder, "name the folder of the runs");
    return out;
}

Result<std::vector<std::string>> listed(std::string const& path) {
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const text, decode_text(bytes, path));
    std::vector<std::string> out;
    std::size_t there = 0;
    for (auto line : split(text, '\n')) {
        line = trimmed(line);
        if (line.empty() || line.front() == '#') continue;
        out.push_back(beside(path, std::string(line)));
        std::error_code ignored;
        // A table of numbers is no list: some of its first lines would have to name files.
        if (out.size() <= 20 && line.size() < 4096 && fs::exists(out.back(), ignored)) ++there;
        if (out.size() == 20 && there == 0) break;
    }
    if (there == 0)
        return fail(
            Errc::bad_input,
            "This names no run that exists: it is no folder, no archive and no list of files.",
            path,
            "give a folder, an archive of trace pack, or a text file with one path a line");
    return out;
}

bool is_archive(std::string const& path) {
    std::ifstream file(path, std::ios::binary);
    std::string mark(8, '\0');
    file.read(mark.data(), 8);
    return file && trace::looks_like_archive(mark);
}

}  // namespace

Result<RunList> RunList::open(std::string const& path) {
    RunList out;
    std::error_code ignored;
    if (fs::is_directory(path, ignored)) {
        GW_TRY(out.paths_, files_of(path));
    } else if (is_archive(path)) {
        GW_TRY(auto bytes, trace::bytes_of_file(path));
        GW_TRY(out.archive_, trace::Archive::open(std::move(bytes)));
    } else {
        GW_TRY(out.paths_, listed(path));
    }
    return out;
}

Result<RunList> RunList::of(std::vector<std::string> const& paths) {
    RunList out;
    for (auto const& path : paths) {
        std::error_code ignored;
        if (fs::is_directory(path, ignored)) {
            GW_TRY(auto const inside, files_of(path));
            out.paths_.insert(out.paths_.end(), inside.begin(), inside.end());
        } else {
            out.paths_.push_back(path);
        }
    }
    return out;
}

std::string RunList::name(std::size_t i) const {
    return archive_ ? archive_->name_of(i) : paths_[i];
}

Result<Run> RunList::read(std::size_t i,
                          trace::Unpacker& unpacker,
                          std::optional<double> rate_hz) const {
    if (!archive_) return load_run(paths_[i], rate_hz);
    GW_TRY(auto trace, archive_->read(i, unpacker));
    return Run(std::move(trace));
}

std::string RunList::fingerprint() const {
    if (archive_) return archive_->fingerprint();
    std::string all;
    for (auto const& path : paths_) {
        std::error_code problem;
        auto const size = fs::file_size(path, problem);
        auto const written = fs::last_write_time(path, problem);
        all += fmt::format(
            "{}\n{} {}\n",
            path,
            problem ? 0 : size,
            problem ? 0 : static_cast<std::int64_t>(written.time_since_epoch().count()));
    }
    return sha256(all);
}

}  // namespace gw::desk
