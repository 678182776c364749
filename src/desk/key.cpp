#include "desk/key.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sodium.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>
#include <system_error>

#include "base/base.hpp"

namespace gw::desk {

namespace {

// SubjectPublicKeyInfo of Ed25519 up to the key itself. Source: RFC 8410, sections 4 and 10.1.
constexpr std::array<unsigned char, 12> der_head = {
    0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00};
constexpr std::string_view pem_begin = "-----BEGIN PUBLIC KEY-----\n";
constexpr std::string_view pem_end = "-----END PUBLIC KEY-----\n";
// A file that asks for more would only stall the machine.
constexpr std::uint64_t most_operations = 10, most_memory = std::uint64_t{1} << 30U;
constexpr std::size_t longest_name = 120;

unsigned char const* bytes_of(std::string_view text) {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): characters are bytes
    return reinterpret_cast<unsigned char const*>(text.data());
}
unsigned char* bytes_of(std::string& text) {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): characters are bytes
    return reinterpret_cast<unsigned char*>(text.data());
}
template <std::size_t n>
std::string_view text_of(std::array<unsigned char, n> const& bytes) {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): bytes are characters
    return {reinterpret_cast<char const*>(bytes.data()), bytes.size()};
}

Result<> ready() {
    if (sodium_init() >= 0) return {};
    return fail(Errc::io, "The machine gives no random numbers.", "random numbers", "try again");
}

std::string der_of(PublicKey const& key) {
    return std::string(text_of(der_head)) + std::string(text_of(key.bytes));
}

template <std::size_t n>
Result<std::array<unsigned char, n>> bytes_of_hex(std::string_view hex,
                                                  std::string const& source,
                                                  char const* what) {
    std::array<unsigned char, n> out{};
    bool const digits = std::all_of(hex.begin(), hex.end(), [](char c) {
        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
    });
    if (!digits || hex.size() != 2 * n)
        return fail(Errc::bad_input,
                    fmt::format("This is no {} of {} hexadecimal digits.", what, 2 * n),
                    source,
                    "take it as it was written");
    sodium_hex2bin(out.data(), n, hex.data(), hex.size(), nullptr, nullptr, nullptr);
    return out;
}

Result<std::string> hex_field(Field const& root, char const* key, std::size_t size) {
    GW_TRY(auto const hex, root.text(key));
    std::string out(size, '\0');
    std::size_t got = 0;
    if (hex.size() != 2 * size ||
        sodium_hex2bin(bytes_of(out), size, hex.data(), hex.size(), nullptr, &got, nullptr) != 0 ||
        got != size)
        return root.wrong(fmt::format("\"{}\" must be {} hexadecimal digits.", key, 2 * size),
                          "take the file as it was written");
    return out;
}

// What the seal covers beside the secret: nobody renames a key unseen.
std::string covered(std::string const& name, std::string const& created, PublicKey const& key) {
    return fmt::format("gaswright.key/1\n{}\n{}\n{}\n", name, created, hex_of(key));
}

Result<Secret> sealing_key(Secret const& passphrase,
                           std::string const& salt,
                           std::uint64_t operations,
                           std::uint64_t memory) {
    Secret out(std::size_t{crypto_aead_xchacha20poly1305_ietf_KEYBYTES});
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): libsodium takes characters
    auto const* words = reinterpret_cast<char const*>(passphrase.data());
    if (crypto_pwhash(out.data(),
                      out.size(),
                      passphrase.empty() ? "" : words,
                      passphrase.size(),
                      bytes_of(salt),
                      operations,
                      static_cast<std::size_t>(memory),
                      crypto_pwhash_ALG_ARGON2ID13) != 0)
        return fail(Errc::io,
                    fmt::format("The passphrase cannot be worked out: it needs {} MiB of memory.",
                                memory >> 20U),
                    "memory",
                    "close other programs and try again");
    return out;
}

std::string system_reason() { return std::error_code(errno, std::generic_category()).message(); }

}  // namespace

Secret::Secret(std::string&& text) : bytes_(text.begin(), text.end()) {
    sodium_memzero(text.data(), text.size());
    text.clear();
}
Secret::Secret(Secret&& other) noexcept : bytes_(std::move(other.bytes_)) { other.bytes_.clear(); }
Secret& Secret::operator=(Secret&& other) noexcept {
    if (this == &other) return *this;
    wipe();
    bytes_ = std::move(other.bytes_);
    other.bytes_.clear();
    return *this;
}
Secret::~Secret() { wipe(); }
void Secret::wipe() {
    if (!bytes_.empty()) sodium_memzero(bytes_.data(), bytes_.size());
}

std::string hex_of(std::string_view bytes) {
    static constexpr std::string_view digits = "0123456789abcdef";
    std::string out;
    for (char const c : bytes) {
        auto const byte = static_cast<unsigned char>(c);
        out += digits[byte >> 4U];
        out += digits[byte & 15U];
    }
    return out;
}
std::string hex_of(PublicKey const& key) { return hex_of(text_of(key.bytes)); }
std::string hex_of(SignatureBytes const& signature) { return hex_of(text_of(signature)); }

Result<PublicKey> public_key_of_hex(std::string_view hex, std::string const& source) {
    PublicKey out;
    GW_TRY(out.bytes, bytes_of_hex<32>(hex, source, "public key"));
    return out;
}
Result<SignatureBytes> signature_of_hex(std::string_view hex, std::string const& source) {
    return bytes_of_hex<64>(hex, source, "signature");
}

std::string fingerprint(PublicKey const& key) { return sha256(der_of(key)); }

std::string pem_of(PublicKey const& key) {
    auto const der = der_of(key);
    std::string base64(sodium_base64_encoded_len(der.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
    sodium_bin2base64(base64.data(),
                      base64.size(),
                      bytes_of(std::string_view(der)),
                      der.size(),
                      sodium_base64_VARIANT_ORIGINAL);
    base64.pop_back();  // its terminator
    return std::string(pem_begin) + base64 + "\n" + std::string(pem_end);
}

Result<PublicKey> public_key_of_pem(std::string_view text, std::string const& source) {
    auto const wrong = [&] {
        return fail(Errc::bad_input,
                    "This is no Ed25519 public key in PEM form.",
                    source,
                    "take the file as it was written");
    };
    if (!text.starts_with(pem_begin) || !text.ends_with(pem_end)) return wrong();
    auto const middle =
        text.substr(pem_begin.size(), text.size() - pem_begin.size() - pem_end.size());
    std::array<unsigned char, 64> der{};
    std::size_t size = 0;
    if (sodium_base642bin(der.data(),
                          der.size(),
                          middle.data(),
                          middle.size(),
                          "\n",
                          &size,
                          nullptr,
                          sodium_base64_VARIANT_ORIGINAL) != 0 ||
        size != der_head.size() + 32 || !std::equal(der_head.begin(), der_head.end(), der.begin()))
        return wrong();
    PublicKey out;
    std::copy_n(der.begin() + der_head.size(), 32, out.bytes.begin());
    if (pem_of(out) != text) return wrong();  // one form only
    return out;
}

bool verify(PublicKey const& key, std::string_view text, SignatureBytes const& signature) {
    return crypto_sign_verify_detached(
               signature.data(), bytes_of(text), text.size(), key.bytes.data()) == 0;
}

Result<KeyFile> read_key(std::string_view text, std::string const& source) {
    GW_TRY(auto const document, parse_json(text, source));
    auto const root = document.root();
    if (!root.find("schema"))
        return root.wrong("This is no key file.", "make one with gaswright key new");
    GW_CHECK(require_schema(root, "key"));
    KeyFile out;
    GW_TRY(out.name, root.text("name"));
    GW_TRY(out.created, root.text("created"));
    GW_TRY(auto const hex, root.text("public_key"));
    GW_TRY(out.public_key, public_key_of_hex(hex, source + ":public_key"));
    GW_TRY(auto const secret, root.at("secret"));
    GW_TRY(auto const has, secret.at("passphrase"));
    GW_TRY(out.has_passphrase, has.boolean());
    GW_TRY(auto const kind, secret.text("made_by"));
    if (kind != "argon2id, xchacha20-poly1305")
        return secret.wrong("This program does not know how the secret is sealed.",
                            "open it with the program that made it");
    GW_TRY(auto const operations, secret.at("operations"));
    GW_TRY(auto const memory, secret.at("memory_bytes"));
    GW_TRY(auto const counted, operations.number_within(1, static_cast<double>(most_operations)));
    GW_TRY(auto const wanted, memory.number_within(8192, static_cast<double>(most_memory)));
    out.operations = static_cast<std::uint64_t>(counted);
    out.memory_bytes = static_cast<std::uint64_t>(wanted);
    GW_TRY(out.salt, hex_field(secret, "salt", crypto_pwhash_SALTBYTES));
    GW_TRY(out.nonce, hex_field(secret, "nonce", crypto_aead_xchacha20poly1305_ietf_NPUBBYTES));
    GW_TRY(
        out.sealed,
        hex_field(
            secret, "sealed", crypto_sign_SEEDBYTES + crypto_aead_xchacha20poly1305_ietf_ABYTES));
    return out;
}

Result<std::string> new_key(std::string const& given,
                            Secret const& passphrase,
                            Instant created,
                            Cost cost) {
    GW_CHECK(ready());
    auto const name = std::string(trimmed(given));
    bool const one_line = std::none_of(name.begin(), name.end(), [](char c) {
        return static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
    });
    if (name.empty() || name.size() > longest_name || !one_line)
        return fail(Errc::bad_input,
                    "A key needs the name of its person, in one line.",
                    "--name",
                    "give the name that stands in the record");
    PublicKey public_key;
    Secret seed(std::size_t{crypto_sign_SEEDBYTES}),
        secret(std::size_t{crypto_sign_SECRETKEYBYTES});
    randombytes_buf(seed.data(), seed.size());
    crypto_sign_seed_keypair(public_key.bytes.data(), secret.data(), seed.data());
    std::string salt(crypto_pwhash_SALTBYTES, '\0'),
        nonce(crypto_aead_xchacha20poly1305_ietf_NPUBBYTES, '\0');
    randombytes_buf(salt.data(), salt.size());
    randombytes_buf(nonce.data(), nonce.size());
    std::uint64_t const operations =
        cost == Cost::usual ? crypto_pwhash_OPSLIMIT_MODERATE : crypto_pwhash_OPSLIMIT_MIN;
    std::uint64_t const memory =
        cost == Cost::usual ? crypto_pwhash_MEMLIMIT_MODERATE : crypto_pwhash_MEMLIMIT_MIN;
    GW_TRY(auto const key, sealing_key(passphrase, salt, operations, memory));
    auto const when = to_text(created);
    auto const more = covered(name, when, public_key);
    std::string sealed(crypto_sign_SEEDBYTES + crypto_aead_xchacha20poly1305_ietf_ABYTES, '\0');
    crypto_aead_xchacha20poly1305_ietf_encrypt(bytes_of(sealed),
                                               nullptr,
                                               seed.data(),
                                               seed.size(),
                                               bytes_of(std::string_view(more)),
                                               more.size(),
                                               nullptr,
                                               bytes_of(std::string_view(nonce)),
                                               key.data());
    GW_TRY(auto const checked_name, decode_text(name, "--name"));
    if (checked_name != name)
        return fail(Errc::bad_input, "The name is no UTF-8 text.", "--name", "type it again");
    return to_text(Json{{"schema", "gaswright.key/1"},
                        {"name", name},
                        {"created", when},
                        {"public_key", hex_of(public_key)},
                        {"fingerprint", fingerprint(public_key)},
                        {"secret",
                         Json{{"made_by", "argon2id, xchacha20-poly1305"},
                              {"passphrase", !passphrase.empty()},
                              {"operations", operations},
                              {"memory_bytes", memory},
                              {"salt", hex_of(std::string_view(salt))},
                              {"nonce", hex_of(std::string_view(nonce))},
                              {"sealed", hex_of(std::string_view(sealed))}}}});
}

SignatureBytes SigningKey::sign(std::string_view text) const {
    SignatureBytes out{};
    crypto_sign_detached(out.data(), nullptr, bytes_of(text), text.size(), secret_.data());
    return out;
}

Result<SigningKey> open_key(KeyFile const& file,
                            Secret const& passphrase,
                            std::string const& source) {
    GW_CHECK(ready());
    GW_TRY(auto const key, sealing_key(passphrase, file.salt, file.operations, file.memory_bytes));
    auto const more = covered(file.name, file.created, file.public_key);
    Secret seed(std::size_t{crypto_sign_SEEDBYTES});
    if (crypto_aead_xchacha20poly1305_ietf_decrypt(seed.data(),
                                                   nullptr,
                                                   nullptr,
                                                   bytes_of(std::string_view(file.sealed)),
                                                   file.sealed.size(),
                                                   bytes_of(std::string_view(more)),
                                                   more.size(),
                                                   bytes_of(std::string_view(file.nonce)),
                                                   key.data()) != 0)
        return fail(Errc::bad_input,
                    "The passphrase does not open this key, or the file was changed.",
                    source,
                    "type the passphrase again, or take the file from its copy");
    SigningKey out;
    out.name_ = file.name;
    out.secret_ = Secret(std::size_t{crypto_sign_SECRETKEYBYTES});
    crypto_sign_seed_keypair(out.public_key_.bytes.data(), out.secret_.data(), seed.data());
    if (out.public_key_ != file.public_key)
        return fail(Errc::bad_input,
                    "The public half of this key does not belong to its secret half.",
                    source,
                    "take the file from its copy");
    return out;
}

Result<> write_key_file(std::string const& path, std::string_view text) {
    int const file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        return errno == EEXIST
                   ? fail(Errc::conflict,
                          "There is a file of this name, and a key is never written over another.",
                          path,
                          "name another one")
                   : fail(Errc::io,
                          fmt::format("The key cannot be written ({}).", system_reason()),
                          path,
                          "choose a folder that may be written to");
    std::string_view left = text;
    bool good = ::fchmod(file, 0600) == 0;
    while (good && !left.empty()) {
        auto const done = ::write(file, left.data(), left.size());
        if (done > 0)
            left.remove_prefix(static_cast<std::size_t>(done));
        else if (done < 0 && errno != EINTR)
            good = false;
    }
    good = good && ::fsync(file) == 0;
    auto const reason = system_reason();
    good = ::close(file) == 0 && good;
    if (good) return {};
    ::unlink(path.c_str());
    return fail(Errc::io,
                fmt::format("The key cannot be written ({}).", reason),
                path,
                "make room, or choose another folder");
}

std::string key_file_warning(std::string const& path) {
    struct stat about {};
    if (::stat(path.c_str(), &about) != 0 || (about.st_mode & 077U) == 0) return {};
    return fmt::format("{}: others than its owner may read this key; mend it with chmod 600", path);
}

Result<std::vector<TrustedKey>> read_trust(std::string_view text, std::string const& source) {
    std::vector<TrustedKey> out;
    std::size_t number = 0;
    GW_TRY(auto const decoded, decode_text(text, source));
    for (auto const raw : split(decoded, '\n')) {
        ++number;
        auto const line = trimmed(raw);
        if (line.empty() || line.front() == '#') continue;
        auto const print = line.substr(0, line.find_first_of(" \t"));
        auto const name = trimmed(line.substr(print.size()));
        bool const digits = std::all_of(print.begin(), print.end(), [](char c) {
            return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
        });
        if (print.size() != 64 || !digits || name.empty())
            return fail(Errc::bad_input,
                        "A line of trust is a fingerprint of 64 digits, blanks, and a name.",
                        fmt::format("{}:{}", source, number),
                        "take the line that gaswright key show prints");
        out.push_back({std::string(print), std::string(name)});
    }
    return out;
}

}  // namespace gw::desk
