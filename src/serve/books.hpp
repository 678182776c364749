#pragma once
/// The records that the page writes in: the person's own, and one beside it for what is invented.
/// A training visit in the own record could never be taken out of it again.
#include <atomic>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "base/time.hpp"
#include "serve/events.hpp"
#include "store/store.hpp"

namespace gw::serve {

enum class Book { own, invented };

/// May be used from any thread: each call has a connection of its own for as long as it lasts.
class Books {
  public:
    struct Options {
        std::string file;  ///< of the own record; the invented one is FILE with ".invented" added
        std::function<Instant()> now;
        std::shared_ptr<EventHub> hub;  ///< told when a record has grown; none: nobody
    };
    explicit Books(Options options);
    ~Books();
    Books(Books const&) = delete;
    Books& operator=(Books const&) = delete;

    /// A store for one call; given back when it goes out of scope.
    class Lease {
      public:
        Lease(Books* books, Book book, std::unique_ptr<store::Store> store)
            : books_(books), book_(book), store_(std::move(store)) {}
        Lease(Lease&& other) noexcept = default;
        Lease& operator=(Lease&&) = delete;
        Lease(Lease const&) = delete;
        Lease& operator=(Lease const&) = delete;
        ~Lease();
        store::Store& operator*() const { return *store_; }
        store::Store* operator->() const { return store_.get(); }
        [[nodiscard]] Book book() const { return book_; }

      private:
        Books* books_;
        Book book_;
        std::unique_ptr<store::Store> store_;
    };

    /// An absent file reads as an empty record; nothing is made.
    Result<Lease> read(Book book);
    /// An absent file is made. After writing call look(), so that the windows are told at once.
    Result<Lease> write(Book book);
    /// The book that holds this visit (or the own one, which will say that there is none).
    Result<Book> book_of_visit(std::string const& visit);
    /// The book that knows this thing; the own one where both do, or neither.
    Result<Book> book_of_thing(std::string const& subject);

    [[nodiscard]] std::string const& file(Book book) const;
    [[nodiscard]] bool exists(Book book) const;

    /// Looks whether a record has grown and tells the windows: event "record" with {"book",
    /// "entries", "subjects": [{"subject", "last"}]}. Called after every write, and each second
    /// for what other programs write.
    void look();

  private:
    struct Shelf {
        std::string file;
        std::vector<std::unique_ptr<store::Store>> idle;
        std::int64_t told = -1;  ///< entries; -1: not looked at yet
    };
    Result<Lease> lease(Book book, bool create);
    void give_back(Book book, std::unique_ptr<store::Store> store);
    void look_at(Book book);
    Shelf& shelf(Book book) { return book == Book::own ? own_ : invented_; }

    Options options_;
    std::mutex guard_;    ///< of the shelves
    std::mutex looking_;  ///< one look at a time, so that news come in order
    std::condition_variable ending_;
    bool ended_ = false;
    Shelf own_, invented_;
    std::thread watch_;
};

char const* name(Book book);

}  // namespace gw::serve
