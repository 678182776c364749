#include "serve/jobs.hpp"

#include <algorithm>
#include <exception>
#include <nlohmann/json.hpp>

namespace gw::serve {

struct Jobs::Job {
    std::string id, title, state = "waiting", says;
    double share = 0;
    bool unwanted = false;
    Work work;
    Json result, problem;
};

namespace {

constexpr std::size_t most_remembered = 50;

Json problem_of(Error const& error) {
    return Json{
        {"code", "job"}, {"what", error.what}, {"where", error.where}, {"mend", error.mend}};
}

}  // namespace

Jobs::Jobs(std::shared_ptr<EventHub> hub, unsigned threads) : hub_(std::move(hub)) {
    for (unsigned i = 0; i < threads; ++i) threads_.emplace_back([this] { run(); });
}

Jobs::~Jobs() {
    {
        std::lock_guard const lock(guard_);
        ending_ = true;
    }
    news_.notify_all();
    for (auto& thread : threads_) thread.join();
}

std::string Jobs::start(std::string title, Work work) {
    auto job = std::make_shared<Job>();
    job->title = std::move(title);
    job->work = std::move(work);
    {
        std::lock_guard const lock(guard_);
        job->id = std::to_string(next_++);
        jobs_.emplace(job->id, job);
        waiting_.push_back(job);
        remembered_.push_back(job);
        while (remembered_.size() > most_remembered) {
            auto const& oldest = remembered_.front();
            if (oldest->state == "waiting" || oldest->state == "running") break;
            jobs_.erase(oldest->id);
            remembered_.pop_front();
        }
    }
    news_.notify_one();
    return job->id;
}

std::optional<Json> Jobs::look(std::string const& id) const {
    std::lock_guard const lock(guard_);
    auto const found = jobs_.find(id);
    if (found == jobs_.end()) return std::nullopt;
    auto out = brief(*found->second);
    out["result"] = found->second->result;
    out["problem"] = found->second->problem;
    return out;
}

bool Jobs::stop(std::string const& id) {
    std::shared_ptr<Job> job;
    {
        std::lock_guard const lock(guard_);
        auto const found = jobs_.find(id);
        if (found == jobs_.end()) return false;
        job = found->second;
        if (job->state != "waiting" && job->state != "running") return false;
        job->unwanted = true;
        if (job->state == "waiting") {
            std::erase(waiting_, job);
            job->work = {};
            job->state = "stopped";
        }
    }
    tell(*job);
    return true;
}

Json Jobs::brief(Job const& job) {
    return Json{{"id", job.id},
                {"title", job.title},
                {"state", job.state},
                {"share", job.share},
                {"says", job.says}};
}

void Jobs::run() {
    for (;;) {
        std::shared_ptr<Job> job;
        {
            std::unique_lock lock(guard_);
            news_.wait(lock, [this] { return ending_ || !waiting_.empty(); });
            if (ending_) return;
            job = waiting_.front();
            waiting_.pop_front();
            job->state = "running";
        }
        tell(*job);
        auto const report = [this, &job](double share, std::string const& says) {
            bool go_on = false;
            {
                std::lock_guard const lock(guard_);
                job->share = std::clamp(share, 0.0, 1.0);
                job->says = says;
                go_on = !ending_ && !job->unwanted;
            }
            tell(*job);
            return go_on;
        };
        Result<Json> made = Json(nullptr);
        try {
            made = job->work(report);
        } catch (std::exception const& fault) {  // memory, or a fault of ours: this job alone ends
            made = fail(Errc::io, "The program met a fault of its own.", fault.what());
        }
        {
            std::lock_guard const lock(guard_);
            job->work = {};
            job->share = made ? 1 : job->share;
            // Done in the same moment as it was stopped: what is done is done.
            job->state = made ? "done" : job->unwanted ? "stopped" : "failed";
            if (made)
                job->result = *std::move(made);
            else if (!job->unwanted)
                job->problem = problem_of(made.error());
        }
        tell(*job);
    }
}

void Jobs::tell(Job const& job) const {
    Json said;
    {
        std::lock_guard const lock(guard_);
        said = brief(job);
    }
    hub_->tell("job", said);
}

}  // namespace gw::serve
