#include "base/zip.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <optional>
#include <set>

#include "base/bytes.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"

namespace gw {

namespace {

// Signatures and sizes of APPNOTE 6.3: 4.3.7, 4.3.12, 4.3.16.
constexpr std::uint32_t local_mark = 0x04034b50, directory_mark = 0x02014b50, end_mark = 0x06054b50;
constexpr std::size_t local_size = 30, directory_size = 46, end_size = 22;
constexpr std::uint16_t version = 20, made_on_unix = 0x0314;
constexpr std::uint16_t midnight = 0, first_day = 0x0021;  // 1980-01-01, as early as a zip can
constexpr std::uint32_t plain_file = std::uint32_t{0100644} << 16U;  // of Unix, for every member
constexpr std::uint32_t kind_mask = 0170000, regular = 0100000;
constexpr std::uint16_t stored = 0, deflated = 8, encrypted_bit = 1;
// Deflate gives at most 258 bytes for two bits (RFC 1951, 3.2.5), 1032 for a byte.
constexpr std::uint64_t most_for_a_byte = 1032;
constexpr std::size_t longest_name = 240;
constexpr std::string_view comment_head = "sha256 of all bytes before this comment: ";
constexpr std::size_t comment_size = comment_head.size() + 64;

struct Entry {
    std::string name;
    std::uint16_t made_by{}, flags{}, method{}, time{}, date{}, extra{}, comment{};
    std::uint32_t crc{}, packed{}, size{}, external{}, offset{};
    std::size_t data{};  // where the packed bytes begin
};

unsigned char* raw(std::string& text) {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): characters are bytes
    return reinterpret_cast<unsigned char*>(text.data());
}
// zlib reads through a pointer that is not const, and changes nothing.
unsigned char* raw(std::string_view text) {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast,cppcoreguidelines-pro-type-const-cast)
    return reinterpret_cast<unsigned char*>(const_cast<char*>(text.data()));
}

std::uint32_t crc_of(std::string_view bytes) {
    auto crc = ::crc32(0, nullptr, 0);
    while (!bytes.empty()) {
        auto const part = bytes.substr(0, std::size_t{1} << 30U);
        crc = ::crc32(crc, raw(part), static_cast<uInt>(part.size()));
        bytes.remove_prefix(part.size());
    }
    return static_cast<std::uint32_t>(crc);
}

// Raw deflate (RFC 1951); empty when that saves nothing.
std::string deflate_bytes(std::string_view bytes) {
    z_stream stream{};
    if (deflateInit2(&stream, 9, Z_DEFLATED, -15, 8, Z_DEFAULT_STRATEGY) != Z_OK) return {};
    std::string out(deflateBound(&stream, bytes.size()), '\0');
    stream.next_in = raw(bytes);
    stream.avail_in = static_cast<uInt>(bytes.size());
    stream.next_out = raw(out);
    stream.avail_out = static_cast<uInt>(out.size());
    bool const done = deflate(&stream, Z_FINISH) == Z_STREAM_END;
    out.resize(stream.total_out);
    deflateEnd(&stream);
    return done && out.size() < bytes.size() ? out : std::string();
}

// Exactly `size` bytes from all of `packed`; none when it gives fewer, more, or has a rest.
std::optional<std::string> inflate_bytes(std::string_view packed, std::size_t size) {
    z_stream stream{};
    if (inflateInit2(&stream, -15) != Z_OK) return std::nullopt;
    std::string out(size + 1, '\0');  // one more, so that a stream that gives more is seen
    stream.next_in = raw(packed);
    stream.avail_in = static_cast<uInt>(packed.size());
    stream.next_out = raw(out);
    stream.avail_out = static_cast<uInt>(out.size());
    bool const done = inflate(&stream, Z_FINISH) == Z_STREAM_END;
    bool const exact = done && stream.avail_in == 0 && stream.total_out == size;
    inflateEnd(&stream);
    out.resize(size);
    return exact ? std::optional(std::move(out)) : std::nullopt;
}

// What both headers say of a file.
void put_common(ByteWriter& out, Entry const& entry) {
    out.put(version);
    out.put(std::uint16_t{0});
    out.put(entry.method);
    out.put(midnight);
    out.put(first_day);
    out.put(entry.crc);
    out.put(entry.packed);
    out.put(entry.size);
    out.put(static_cast<std::uint16_t>(entry.name.size()));
}

std::string local_header(Entry const& entry) {
    ByteWriter out;
    out.put(local_mark);
    put_common(out, entry);
    out.put(std::uint16_t{0});
    out.raw(entry.name);
    return out.bytes();
}

std::string directory_line(Entry const& entry) {
    ByteWriter out;
    out.put(directory_mark);
    out.put(made_on_unix);
    put_common(out, entry);
    for (int i = 0; i < 4; ++i) out.put(std::uint16_t{0});  // extra, comment, disk, inner kind
    out.put(plain_file);
    out.put(entry.offset);
    out.raw(entry.name);
    return out.bytes();
}

std::string end_record(std::size_t members, std::size_t size, std::size_t offset) {
    ByteWriter out;
    out.put(end_mark);
    out.put(std::uint32_t{0});  // this disk and the directory's
    out.put(static_cast<std::uint16_t>(members));
    out.put(static_cast<std::uint16_t>(members));
    out.put(static_cast<std::uint32_t>(size));
    out.put(static_cast<std::uint32_t>(offset));
    out.put(static_cast<std::uint16_t>(comment_size));
    return out.bytes();
}

struct End {
    std::size_t at{}, members{}, size{}, offset{};
};

class Reader {
  public:
    Reader(std::string_view bytes, std::string const& source, ZipLimits const& limits)
        : bytes_(bytes), source_(source), limits_(limits) {}

    Result<ZipRead> read() {
        GW_TRY(auto const end, find_end());
        GW_CHECK(read_directory(end));
        GW_CHECK(place_members(end));
        ZipRead out;
        for (auto const& entry : entries_) {
            auto const packed = bytes_.substr(entry.data, entry.packed);
            if (entry.name.back() == '/') continue;  // a folder: holds nothing
            ZipMember member{entry.name, {}};
            auto unpacked = entry.method == stored ? std::optional(std::string(packed))
                                                   : inflate_bytes(packed, entry.size);
            if (!unpacked || unpacked->size() != entry.size)
                out.damaged.push_back({entry.name, "its packed bytes do not unpack"});
            else if (crc_of(*unpacked) != entry.crc)
                out.damaged.push_back({entry.name, "its bytes do not give their checksum"});
            else
                member.bytes = *std::move(unpacked);
            out.members.push_back(std::move(member));
        }
        out.oddity = oddity(end);
        return out;
    }

  private:
    [[nodiscard]] tl::unexpected<Error> wrong(std::string what) const {
        return fail(Errc::bad_input, std::move(what), source_, "take the file as it was written");
    }

    Result<End> find_end() const {
        if (bytes_.size() < end_size) return wrong("This is no zip file.");
        if (bytes_.size() > 0xFFFFFFFFU)
            return wrong("The file is larger than a plain zip can be.");
        std::size_t const first =
            bytes_.size() > end_size + 0xFFFF ? bytes_.size() - end_size - 0xFFFF : 0;
        for (std::size_t at = bytes_.size() - end_size;; --at) {
            ByteReader reader(bytes_.substr(at));
            if (reader.get<std::uint32_t>() == end_mark) {
                auto const disks = reader.get<std::uint32_t>();
                auto const here = reader.get<std::uint16_t>(), all = reader.get<std::uint16_t>();
                End end;
                end.at = at;
                end.members = all;
                end.size = reader.get<std::uint32_t>();
                end.offset = reader.get<std::uint32_t>();
                if (reader.get<std::uint16_t>() == reader.left()) {
                    if (disks != 0 || here != all) return wrong("The zip is split over disks.");
                    if (all == 0xFFFF || end.size == 0xFFFFFFFFU || end.offset == 0xFFFFFFFFU)
                        return wrong("The zip uses an extension for large files.");
                    if (all > limits_.members)
                        return wrong(fmt::format(
                            "The zip has {} members; at most {} are taken.", all, limits_.members));
                    if (end.offset > at || end.size != at - end.offset)
                        return wrong("The directory of the zip does not end where it should.");
                    return end;
                }
            }
            if (at == first) break;
        }
        return wrong("This is no zip file, or its end is cut off.");
    }

    Result<> read_directory(End const& end) {
        ByteReader reader(bytes_.substr(end.offset, end.size));
        std::set<std::string> names;
        std::uint64_t total = 0;
        for (std::size_t i = 0; i < end.members; ++i) {
            Entry entry;
            if (reader.get<std::uint32_t>() != directory_mark)
                return wrong(fmt::format("Line {} of the zip's directory is damaged.", i + 1));
            entry.made_by = reader.get<std::uint16_t>();
            reader.get<std::uint16_t>();
            entry.flags = reader.get<std::uint16_t>();
            entry.method = reader.get<std::uint16_t>();
            entry.time = reader.get<std::uint16_t>();
            entry.date = reader.get<std::uint16_t>();
            entry.crc = reader.get<std::uint32_t>();
            entry.packed = reader.get<std::uint32_t>();
            entry.size = reader.get<std::uint32_t>();
            auto const name_size = reader.get<std::uint16_t>();
            entry.extra = reader.get<std::uint16_t>();
            entry.comment = reader.get<std::uint16_t>();
            reader.get<std::uint32_t>();
            entry.external = reader.get<std::uint32_t>();
            entry.offset = reader.get<std::uint32_t>();
            entry.name = std::string(reader.raw(name_size));
            reader.raw(std::size_t{entry.extra} + entry.comment);
            if (!reader.good())
                return wrong(fmt::format("Line {} of the zip's directory is cut off.", i + 1));
            GW_CHECK(check(entry));
            if (!names.insert(lowered(entry.name)).second)
                return wrong(fmt::format("The name {} comes twice in the zip.", entry.name));
            total += entry.size;
            if (total > limits_.total_bytes)
                return wrong(fmt::format("The zip would unpack to more than {} MiB.",
                                         limits_.total_bytes >> 20U));
            entries_.push_back(std::move(entry));
        }
        if (reader.left() != 0) return wrong("The zip's directory holds more than its members.");
        return {};
    }

    [[nodiscard]] Result<> check(Entry const& entry) const {
        auto name = std::string_view(entry.name);
        bool const folder = name.ends_with('/');
        if (folder) name.remove_suffix(1);
        if (auto const fault = zip_name_fault(name); !fault.empty())
            return wrong("A member of the zip has a name that is not taken: " + fault + ".");
        if ((entry.flags & encrypted_bit) != 0)
            return wrong(fmt::format("The member {} is encrypted.", entry.name));
        if (entry.method != stored && entry.method != deflated)
            return wrong(fmt::format("The member {} is packed in a way that is not taken ({}).",
                                     entry.name,
                                     entry.method));
        if (entry.packed == 0xFFFFFFFFU || entry.size == 0xFFFFFFFFU || entry.offset == 0xFFFFFFFFU)
            return wrong("The zip uses an extension for large files.");
        if (entry.size > most_for_a_byte * entry.packed)
            return wrong(fmt::format("The member {} promises more bytes than its packing can give.",
                                     entry.name));
        if (folder && entry.size != 0)
            return wrong(fmt::format("The folder {} of the zip holds bytes.", entry.name));
        auto const kind = (entry.external >> 16U) & kind_mask;
        if (!folder && (entry.made_by >> 8U) == 3 && kind != 0 && kind != regular)
            return wrong(
                fmt::format("The member {} is a link or device, and no file.", entry.name));
        return {};
    }

    // The packed bytes of every member, inside the file and apart from each other.
    Result<> place_members(End const& end) {
        for (auto& entry : entries_) {
            if (entry.offset > end.offset)
                return wrong(fmt::format("The member {} lies outside of the zip.", entry.name));
            ByteReader reader(bytes_.substr(entry.offset, end.offset - entry.offset));
            auto const mark = reader.get<std::uint32_t>();
            reader.raw(22);
            auto const name_size = reader.get<std::uint16_t>();
            auto const extra_size = reader.get<std::uint16_t>();
            auto const name = reader.raw(name_size);
            reader.raw(extra_size);
            entry.data = entry.offset + local_size + name_size + extra_size;
            auto const packed = reader.raw(entry.packed);
            if (mark != local_mark || !reader.good() || packed.size() != entry.packed)
                return wrong(fmt::format("The member {} is cut off or damaged.", entry.name));
            if (name != entry.name)
                return wrong(fmt::format("The member {} is called otherwise in front of its bytes.",
                                         entry.name));
        }
        auto order = entries_;
        std::sort(order.begin(), order.end(), [](auto const& a, auto const& b) {
            return a.offset < b.offset;
        });
        for (std::size_t i = 1; i < order.size(); ++i)
            if (order[i - 1].data + order[i - 1].packed > order[i].offset)
                return wrong(fmt::format(
                    "The members {} and {} overlap.", order[i - 1].name, order[i].name));
        return {};
    }

    // The first place where zip_archive would have written other bytes.
    [[nodiscard]] std::string oddity(End const& end) const {
        std::size_t at = 0;
        std::string directory;
        for (auto const& entry : entries_) {
            if (entry.offset != at)
                return fmt::format("there are bytes before {} that belong to no member",
                                   entry.name);
            auto const header = local_header(entry);
            if (bytes_.substr(at, header.size()) != header)
                return fmt::format("the header before {} is not as it was written", entry.name);
            auto const line = directory_line(entry);
            if (bytes_.substr(end.offset + directory.size(), line.size()) != line)
                return fmt::format("the directory's line of {} is not as it was written",
                                   entry.name);
            directory += line;
            at += header.size() + entry.packed;
        }
        if (end.offset != at) return "there are bytes after the last member that belong to none";
        auto const record = end_record(entries_.size(), directory.size(), at);
        if (bytes_.substr(end.at, end_size) != record)
            return "the record at the end is not as it was written";
        auto const comment = bytes_.substr(end.at + end_size);
        if (comment.size() != comment_size || !comment.starts_with(comment_head))
            return "the checksum at the end is not as it was written";
        if (sha256(bytes_.substr(0, end.at + end_size)) != comment.substr(comment_head.size()))
            return "the checksum at the end does not fit: packed bytes were changed, and unpack "
                   "the same";
        return {};
    }

    std::string_view bytes_;
    std::string const& source_;
    ZipLimits limits_;
    std::vector<Entry> entries_;
};

}  // namespace

std::string zip_name_fault(std::string_view name) {
    std::string shown;
    for (char const c : name.substr(0, 60)) shown += c >= 0x20 && c < 0x7F ? c : '?';
    if (name.empty()) return "an empty one";
    if (name.size() > longest_name) return "one that is too long, " + shown + "...";
    for (char const c : name) {
        bool const taken = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
                           (c >= 'A' && c <= 'Z') || c == '-' || c == '_' || c == '.' || c == '+' ||
                           c == '/';
        if (!taken) return "\"" + shown + "\" holds other signs than letters, digits and -_.+/";
    }
    for (auto const part : split(name, '/'))
        if (part.empty() || part == "." || part == "..")
            return "\"" + shown + "\" leads out of its folder";
    return {};
}

ZipMember const* ZipRead::find(std::string_view name) const {
    for (auto const& member : members)
        if (member.name == name) return &member;
    return nullptr;
}

Result<std::string> zip_archive(std::vector<ZipMember> const& members) {
    std::string out, directory;
    std::set<std::string> names;
    for (auto const& member : members) {
        auto fault = zip_name_fault(member.name);
        if (fault.empty() && !names.insert(lowered(member.name)).second)
            fault = "\"" + member.name + "\" comes twice";
        if (!fault.empty())
            return fail(Errc::bad_input, "A member cannot be called so: " + fault + ".", "zip");
        if (member.bytes.size() > 0xFFFFFFF0U - out.size())
            return fail(Errc::out_of_range, "The zip would be larger than 4 GiB.", member.name);
        auto packed = deflate_bytes(member.bytes);
        Entry entry;
        entry.name = member.name;
        entry.method = packed.empty() ? stored : deflated;
        entry.crc = crc_of(member.bytes);
        entry.size = static_cast<std::uint32_t>(member.bytes.size());
        entry.packed = packed.empty() ? entry.size : static_cast<std::uint32_t>(packed.size());
        entry.offset = static_cast<std::uint32_t>(out.size());
        out += local_header(entry);
        out += packed.empty() ? member.bytes : packed;
        directory += directory_line(entry);
    }
    if (members.size() >= 0xFFFF)
        return fail(Errc::out_of_range, "A zip holds at most 65534 members.", "zip");
    auto const offset = out.size();
    out += directory;
    out += end_record(members.size(), directory.size(), offset);
    auto const sum = sha256(out);
    out += comment_head;
    out += sum;
    return out;
}

Result<ZipRead> read_zip(std::string_view bytes,
                         std::string const& source,
                         ZipLimits const& limits) {
    return Reader(bytes, source, limits).read();
}

}  // namespace gw
