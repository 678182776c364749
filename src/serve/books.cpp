#include "serve/books.hpp"

#include <chrono>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>

#include "store/memory_store.hpp"
#include "store/sqlite_store.hpp"

namespace gw::serve {

namespace {

constexpr std::size_t most_idle = 4;  // connections kept open between calls, a file
constexpr auto look_every = std::chrono::seconds(1);

}  // namespace

char const* name(Book book) { return book == Book::own ? "own" : "invented"; }

Books::Books(Options options) : options_(std::move(options)) {
    own_.file = options_.file;
    invented_.file = options_.file + ".invented";
    if (!options_.hub) return;
    look();
    watch_ = std::thread([this] {
        std::unique_lock lock(guard_);
        while (!ended_) {
            ending_.wait_for(lock, look_every);
            if (ended_) return;
            lock.unlock();
            if (options_.hub->is_heard()) look();
            lock.lock();
        }
    });
}

Books::~Books() {
    {
        std::lock_guard const lock(guard_);
        ended_ = true;
    }
    ending_.notify_all();
    if (watch_.joinable()) watch_.join();
}

Books::Lease::~Lease() {
    if (store_) books_->give_back(book_, std::move(store_));
}

Result<Books::Lease> Books::read(Book book) { return lease(book, false); }
Result<Books::Lease> Books::write(Book book) { return lease(book, true); }

Result<Books::Lease> Books::lease(Book book, bool create) {
    {
        std::lock_guard const lock(guard_);
        auto& idle = shelf(book).idle;
        if (!idle.empty()) {
            auto store = std::move(idle.back());
            idle.pop_back();
            return Lease(this, book, std::move(store));
        }
    }
    if (!create && !exists(book)) return Lease(this, book, std::make_unique<store::MemoryStore>());
    store::StoreOptions options;
    options.file = file(book);
    options.now = options_.now();
    options.create = create;
    GW_TRY(auto store, store::open_store(options));
    return Lease(this, book, std::move(store));
}

void Books::give_back(Book book, std::unique_ptr<store::Store> store) {
    // What stood in for an absent file is not kept: the file may be there the next time.
    if (dynamic_cast<store::MemoryStore*>(store.get()) != nullptr) return;
    std::lock_guard const lock(guard_);
    auto& idle = shelf(book).idle;
    if (idle.size() < most_idle) idle.push_back(std::move(store));
}

Result<Book> Books::book_of_visit(std::string const& visit) {
    GW_TRY(auto const invented, read(Book::invented));
    GW_TRY(auto const there, invented->visit(visit));
    return there ? Book::invented : Book::own;
}

Result<Book> Books::book_of_thing(std::string const& subject) {
    GW_TRY(auto const own, read(Book::own));
    GW_TRY(auto const known, own->thing(subject));
    if (known) return Book::own;
    GW_TRY(auto const invented, read(Book::invented));
    GW_TRY(auto const there, invented->thing(subject));
    return there ? Book::invented : Book::own;
}

std::string const& Books::file(Book book) const {
    return book == Book::own ? own_.file : invented_.file;
}

bool Books::exists(Book book) const {
    std::error_code ignored;
    return std::filesystem::exists(file(book), ignored);
}

void Books::look() {
    std::lock_guard const lock(looking_);
    for (auto const book : {Book::own, Book::invented}) look_at(book);
}

// A record that cannot be read now is looked at again in a second; who asks for it hears why.
void Books::look_at(Book book) {
    auto const store = read(book);
    if (!store) return;
    auto const head = (*store)->head();
    if (!head) return;
    auto& told = shelf(book).told;
    if (told < 0) told = head->entries;
    if (head->entries == told) return;
    constexpr std::size_t most = 1000;  // more at once: the windows ask anew in any case
    auto const added = (*store)->from(told + 1, most);
    if (!added) return;
    std::map<std::string, std::int64_t> last;
    for (auto const& entry : *added) last[entry.subject] = entry.sequence;
    Json subjects = Json::array();
    for (auto const& [subject, entry] : last)
        subjects.push_back(Json{{"subject", subject}, {"last", entry}});
    told = head->entries;
    if (options_.hub)
        options_.hub->tell("record",
                           Json{{"book", name(book)},
                                {"entries", head->entries},
                                {"subjects", std::move(subjects)}});
}

}  // namespace gw::serve
