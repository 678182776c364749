// A bundle comes by mail from somebody else. Whatever the bytes: they are refused or checked within
// bounds; what is called intact is, byte for byte, what this program would have written of the same
// members, and every one of its files is on its list.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "base/hash.hpp"
#include "base/zip.hpp"
#include "desk/bundle.hpp"

namespace {

void require(bool holds, char const* what) {
    if (holds) return;
    std::fprintf(stderr, "bundle_fuzz: broken promise: %s\n", what);
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    using namespace gw;  // NOLINT(google-build-using-namespace): one function, all of it of gw
    std::string const text(reinterpret_cast<char const*>(bytes), size);
    ZipLimits limits;
    limits.total_bytes = std::uint64_t{16} << 20U;
    auto const read = read_zip(text, "fuzz", limits);
    if (!read) {
        require(!read.error().what.empty(), "a refusal says what");
        require(!desk::check_bundle(text, "fuzz", {}).intact(), "what is no zip is no bundle");
        return 0;
    }
    std::uint64_t total = 0;
    for (auto const& member : read->members) {
        require(zip_name_fault(member.name).empty(), "no name leads out");
        total += member.bytes.size();
    }
    require(total <= limits.total_bytes, "no more is unpacked than is allowed");
    if (read->oddity.empty() && read->damaged.empty()) {
        // The packing may be another's, but what it holds is read the same once more.
        auto const again = zip_archive(read->members);
        require(again.has_value(), "what was read can be written");
        auto const twice = read_zip(*again, "again", limits);
        require(twice && twice->oddity.empty() && twice->members.size() == read->members.size(),
                "and read again");
        for (std::size_t i = 0; twice && i < twice->members.size(); ++i)
            require(twice->members[i].bytes == read->members[i].bytes, "alike");
    }
    auto const checked = desk::check_bundle(text, "fuzz", {});
    require(!checked.trusted, "nothing is trusted without a list");
    if (!checked.intact()) {
        require(!checked.first_bad->file.empty() && !checked.first_bad->what.empty(),
                "what is bad is named");
        return 0;
    }
    auto const* manifest = read->find("manifest.sha256");
    require(manifest != nullptr, "an intact bundle has its list");
    for (auto const& member : read->members)
        if (member.name != "manifest.sha256" && member.name != "manifest.sig")
            require(manifest->bytes.find(sha256(member.bytes) + "  " + member.name + "\n") !=
                        std::string::npos,
                    "every file is on it");
    return 0;
}
