using Hotlight.Audit;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Audit;

/// <summary>Tells the trail of every change of a reading, a remark, a call or a sign-off before it is made.</summary>
/// <param name="inner">Where the readings lie.</param>
/// <param name="trail">The trail.</param>
public sealed class AuditedReadings(IReadingStore inner, IAuditTrail trail) : IReadingStore
{
    /// <inheritdoc/>
    public Task<OwnReading> AddAsync(OwnReading reading, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(reading);
        return trail.AroundAsync(Event(AuditAct.Made, reading.Id, "own reading"), () => inner.AddAsync(reading, cancellation));
    }

    /// <inheritdoc/>
    public Task<OwnReading?> FindAsync(Guid id, CancellationToken cancellation = default) => inner.FindAsync(id, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<OwnReading>> ListAsync(ReadingQuery query, CancellationToken cancellation = default) => inner.ListAsync(query, cancellation);

    /// <inheritdoc/>
    public Task<OwnReading> KeepAnswersAsync(Guid id, int version, AnswerStep step, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "answers"), () => inner.KeepAnswersAsync(id, version, step, cancellation));

    /// <inheritdoc/>
    public Task<OwnReading> StepAnswersAsync(Guid id, int version, AnswerStepDirection direction, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "answers, a step back or forth"), () => inner.StepAnswersAsync(id, version, direction, cancellation));

    /// <inheritdoc/>
    public Task<OwnReading> KeepVerdictAsync(Guid id, int version, string? verdict, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "verdict"), () => inner.KeepVerdictAsync(id, version, verdict, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<GivenStep>> StepsAsync(Guid id, CancellationToken cancellation = default) => inner.StepsAsync(id, cancellation);

    /// <inheritdoc/>
    public Task AddReadingTimeAsync(Guid id, double seconds, CancellationToken cancellation = default) => inner.AddReadingTimeAsync(id, seconds, cancellation);

    /// <inheritdoc/>
    public Task<OwnReading> FinishAsync(Guid id, int version, string caseTitle, ReadingResult result, DateTimeOffset? at = null, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "finished"), () => inner.FinishAsync(id, version, caseTitle, result, at, cancellation));

    /// <inheritdoc/>
    public Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Erased, id, "own reading"), () => inner.RemoveAsync(id, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<ReadCase>> CasesAsync(IReadOnlyList<Guid> ids, CancellationToken cancellation = default) => inner.CasesAsync(ids, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<BlindCall>> CallsAsync(CancellationToken cancellation = default) => inner.CallsAsync(cancellation);

    /// <inheritdoc/>
    public Task CallAsync(BlindCall call, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(call);
        return trail.AroundAsync(Event(AuditAct.Made, call.CaseId, "call for blind readings of this case"), () => inner.CallAsync(call, cancellation));
    }

    /// <inheritdoc/>
    public Task<bool> EndCallAsync(Guid caseId, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, caseId, "end of the call for blind readings of this case"), () => inner.EndCallAsync(caseId, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<CaseRemark>> RemarksAsync(Guid caseId, CancellationToken cancellation = default) => inner.RemarksAsync(caseId, cancellation);

    /// <inheritdoc/>
    public Task AddRemarkAsync(CaseRemark remark, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(remark);
        return trail.AroundAsync(Event(AuditAct.Made, remark.Id, "remark"), () => inner.AddRemarkAsync(remark, cancellation));
    }

    /// <inheritdoc/>
    public Task<CaseRemark> EditRemarkAsync(Guid id, Guid authorId, int version, string text, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "remark"), () => inner.EditRemarkAsync(id, authorId, version, text, cancellation));

    /// <inheritdoc/>
    public Task<IReadOnlyList<SignOff>> SignOffsAsync(Guid? learnerId, CancellationToken cancellation = default) => inner.SignOffsAsync(learnerId, cancellation);

    /// <inheritdoc/>
    public Task AddSignOffAsync(SignOff signOff, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(signOff);
        return trail.AroundAsync(Event(AuditAct.Made, signOff.Id, "sign-off"), () => inner.AddSignOffAsync(signOff, cancellation));
    }

    /// <inheritdoc/>
    public Task<SignOff> WithdrawAsync(Guid id, string by, string reason, CancellationToken cancellation = default)
        => trail.AroundAsync(Event(AuditAct.Changed, id, "sign-off withdrawn"), () => inner.WithdrawAsync(id, by, reason, cancellation));

    private static AuditEvent Event(AuditAct act, Guid id, string detail) => new(act, AuditSubject.Reading, id.ToString(), detail);
}
